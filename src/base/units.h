// Strong types for everything that a person types or reads. Inside solvers: plain SI scalars.
#pragma once

#include <compare>
#include <numbers>

namespace lintel {

inline constexpr double kRadiansPerDegree = std::numbers::pi / 180.0;
inline constexpr double kDegreesPerRadian = 180.0 / std::numbers::pi;
inline constexpr double kMetresPerInch = 0.0254;
inline constexpr double kKilogramsPerPound = 0.45359237;
// Standard acceleration of gravity [m/s^2], CGPM 1901.
inline constexpr double kGravity = 9.80665;

namespace detail {
// A scalar with a dimension tag: only like adds to like.
template <typename Tag>
class Quantity {
 public:
  constexpr Quantity() = default;
  static constexpr Quantity si(double value) { return Quantity(value); }
  constexpr double in_si() const { return value_; }
  constexpr auto operator<=>(const Quantity&) const = default;
  constexpr Quantity operator+(Quantity other) const { return Quantity(value_ + other.value_); }
  constexpr Quantity operator-(Quantity other) const { return Quantity(value_ - other.value_); }
  constexpr Quantity operator-() const { return Quantity(-value_); }
  constexpr Quantity operator*(double factor) const { return Quantity(value_ * factor); }
  constexpr Quantity operator/(double divisor) const { return Quantity(value_ / divisor); }
  constexpr double operator/(Quantity other) const { return value_ / other.value_; }

 protected:
  explicit constexpr Quantity(double value) : value_(value) {}
  double value_ = 0.0;
};
}  // namespace detail

class Angle : public detail::Quantity<Angle> {
 public:
  constexpr Angle() = default;
  constexpr Angle(Quantity q) : Quantity(q) {}  // NOLINT: results of + and - stay angles
  static constexpr Angle radians(double value) { return si(value); }
  static constexpr Angle degrees(double value) { return si(value * kRadiansPerDegree); }
  constexpr double radians() const { return value_; }
  constexpr double degrees() const { return value_ * kDegreesPerRadian; }
};

class Length : public detail::Quantity<Length> {
 public:
  constexpr Length() = default;
  constexpr Length(Quantity q) : Quantity(q) {}  // NOLINT
  static constexpr Length metres(double value) { return si(value); }
  static constexpr Length centimetres(double value) { return si(value * 0.01); }
  static constexpr Length millimetres(double value) { return si(value * 0.001); }
  static constexpr Length inches(double value) { return si(value * kMetresPerInch); }
  constexpr double metres() const { return value_; }
  constexpr double centimetres() const { return value_ * 100.0; }
  constexpr double millimetres() const { return value_ * 1000.0; }
  constexpr double inches() const { return value_ / kMetresPerInch; }
};

class Mass : public detail::Quantity<Mass> {
 public:
  constexpr Mass() = default;
  constexpr Mass(Quantity q) : Quantity(q) {}  // NOLINT
  static constexpr Mass kilograms(double value) { return si(value); }
  static constexpr Mass pounds(double value) { return si(value * kKilogramsPerPound); }
  constexpr double kilograms() const { return value_; }
};

class Force : public detail::Quantity<Force> {
 public:
  constexpr Force() = default;
  constexpr Force(Quantity q) : Quantity(q) {}  // NOLINT
  static constexpr Force newtons(double value) { return si(value); }
  constexpr double newtons() const { return value_; }
};

class Moment : public detail::Quantity<Moment> {
 public:
  constexpr Moment() = default;
  constexpr Moment(Quantity q) : Quantity(q) {}  // NOLINT
  static constexpr Moment newton_metres(double value) { return si(value); }
  constexpr double newton_metres() const { return value_; }
};

class Duration : public detail::Quantity<Duration> {
 public:
  constexpr Duration() = default;
  constexpr Duration(Quantity q) : Quantity(q) {}  // NOLINT
  static constexpr Duration seconds(double value) { return si(value); }
  constexpr double seconds() const { return value_; }
};

// A number that was measured or estimated, with its standard error, in SI units.
// A number without its error does not leave the measuring modules.
struct Estimate {
  double value = 0.0;
  double standard_error = 0.0;
};

}  // namespace lintel
