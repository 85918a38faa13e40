// Numbers that carry exact derivatives: first order (Jet) and second order (Jet2), fixed size.
// Forward mode after Wengert 1964. Own types, because AutoDiff scalars give first order only and
// the solver wants the Hessian of a few variables in under a microsecond.
#pragma once

#include <array>
#include <cmath>

namespace lintel::posture {

// Value and N first derivatives of type double.
template <int N>
struct Jet {
  double v = 0.0;
  std::array<double, N> d{};

  Jet() = default;
  Jet(double value) : v(value) {}  // NOLINT: constants mix with jets
  static Jet variable(double value, int index) {
    Jet j(value);
    j.d[static_cast<std::size_t>(index)] = 1.0;
    return j;
  }
  Jet& operator+=(const Jet& o) { return *this = *this + o; }
  Jet& operator-=(const Jet& o) { return *this = *this - o; }
  Jet& operator*=(const Jet& o) { return *this = *this * o; }

  // f(v) with f'(v) known.
  Jet chain(double value, double slope) const {
    Jet r(value);
    for (std::size_t i = 0; i < N; ++i) r.d[i] = slope * d[i];
    return r;
  }
  friend Jet operator+(const Jet& a, const Jet& b) {
    Jet r(a.v + b.v);
    for (std::size_t i = 0; i < N; ++i) r.d[i] = a.d[i] + b.d[i];
    return r;
  }
  friend Jet operator-(const Jet& a, const Jet& b) {
    Jet r(a.v - b.v);
    for (std::size_t i = 0; i < N; ++i) r.d[i] = a.d[i] - b.d[i];
    return r;
  }
  friend Jet operator-(const Jet& a) { return a.chain(-a.v, -1.0); }
  friend Jet operator*(const Jet& a, const Jet& b) {
    Jet r(a.v * b.v);
    for (std::size_t i = 0; i < N; ++i) r.d[i] = a.v * b.d[i] + a.d[i] * b.v;
    return r;
  }
  friend Jet operator/(const Jet& a, const Jet& b) {
    const double inverse = 1.0 / b.v;
    Jet r(a.v * inverse);
    for (std::size_t i = 0; i < N; ++i) r.d[i] = (a.d[i] - r.v * b.d[i]) * inverse;
    return r;
  }
};

template <int N>
Jet<N> sin(const Jet<N>& a) {
  return a.chain(std::sin(a.v), std::cos(a.v));
}
template <int N>
Jet<N> cos(const Jet<N>& a) {
  return a.chain(std::cos(a.v), -std::sin(a.v));
}
template <int N>
Jet<N> sqrt(const Jet<N>& a) {
  const double root = std::sqrt(a.v);
  return a.chain(root, 0.5 / root);
}
template <int N>
Jet<N> asin(const Jet<N>& a) {
  return a.chain(std::asin(a.v), 1.0 / std::sqrt(1.0 - a.v * a.v));
}
template <int N>
Jet<N> atan(const Jet<N>& a) {
  return a.chain(std::atan(a.v), 1.0 / (1.0 + a.v * a.v));
}
template <int N>
Jet<N> tanh(const Jet<N>& a) {
  const double t = std::tanh(a.v);
  return a.chain(t, 1.0 - t * t);
}
template <int N>
Jet<N> atan2(const Jet<N>& y, const Jet<N>& x) {
  const double inverse = 1.0 / (x.v * x.v + y.v * y.v);
  Jet<N> r(std::atan2(y.v, x.v));
  for (std::size_t i = 0; i < N; ++i) r.d[i] = (x.v * y.d[i] - y.v * x.d[i]) * inverse;
  return r;
}

inline double value_of(double a) {
  return a;
}
template <int N>
double value_of(const Jet<N>& a) {
  return a.v;
}

// Value, gradient and packed symmetric Hessian (upper triangle, row by row) over scalars S, which
// may be double or Jet.
template <typename S, int N>
struct Jet2 {
  static constexpr int kPacked = N * (N + 1) / 2;
  S v = S(0.0);
  std::array<S, N> g{};
  std::array<S, kPacked> h{};

  Jet2() = default;
  Jet2(const S& value) : v(value) {}  // NOLINT: constants mix with jets
  static Jet2 variable(const S& value, int index) {
    Jet2 j(value);
    j.g[static_cast<std::size_t>(index)] = S(1.0);
    return j;
  }

  // f(v) with f'(v) and f''(v) known.
  Jet2 chain(const S& value, const S& slope, const S& bend) const {
    Jet2 r(value);
    for (std::size_t i = 0; i < N; ++i) r.g[i] = slope * g[i];
    std::size_t k = 0;
    for (std::size_t i = 0; i < N; ++i) {
      const S bend_i = bend * g[i];
      for (std::size_t j = i; j < N; ++j, ++k) r.h[k] = slope * h[k] + bend_i * g[j];
    }
    return r;
  }
  Jet2 scaled(const S& factor) const {
    Jet2 r(factor * v);
    for (std::size_t i = 0; i < N; ++i) r.g[i] = factor * g[i];
    for (std::size_t k = 0; k < kPacked; ++k) r.h[k] = factor * h[k];
    return r;
  }
  friend Jet2 operator+(const Jet2& a, const Jet2& b) {
    Jet2 r(a.v + b.v);
    for (std::size_t i = 0; i < N; ++i) r.g[i] = a.g[i] + b.g[i];
    for (std::size_t k = 0; k < kPacked; ++k) r.h[k] = a.h[k] + b.h[k];
    return r;
  }
  friend Jet2 operator-(const Jet2& a, const Jet2& b) {
    Jet2 r(a.v - b.v);
    for (std::size_t i = 0; i < N; ++i) r.g[i] = a.g[i] - b.g[i];
    for (std::size_t k = 0; k < kPacked; ++k) r.h[k] = a.h[k] - b.h[k];
    return r;
  }
  friend Jet2 operator-(const Jet2& a) { return a.scaled(S(-1.0)); }
  friend Jet2 operator*(const Jet2& a, const Jet2& b) {
    Jet2 r(a.v * b.v);
    for (std::size_t i = 0; i < N; ++i) r.g[i] = a.v * b.g[i] + a.g[i] * b.v;
    std::size_t k = 0;
    for (std::size_t i = 0; i < N; ++i) {
      for (std::size_t j = i; j < N; ++j, ++k) {
        r.h[k] = a.v * b.h[k] + b.v * a.h[k] + a.g[i] * b.g[j] + a.g[j] * b.g[i];
      }
    }
    return r;
  }
  friend Jet2 operator*(const S& factor, const Jet2& a) { return a.scaled(factor); }
};

template <typename S, int N>
Jet2<S, N> sin(const Jet2<S, N>& a) {
  using std::cos;
  using std::sin;
  const S s = sin(a.v);
  return a.chain(s, cos(a.v), -s);
}
template <typename S, int N>
Jet2<S, N> cos(const Jet2<S, N>& a) {
  using std::cos;
  using std::sin;
  const S c = cos(a.v);
  return a.chain(c, -sin(a.v), -c);
}
template <typename S, int N>
Jet2<S, N> sqrt(const Jet2<S, N>& a) {
  using std::sqrt;
  const S root = sqrt(a.v);
  const S slope = S(0.5) / root;
  return a.chain(root, slope, -(S(0.5) * slope / a.v));
}
template <typename S, int N>
Jet2<S, N> tanh(const Jet2<S, N>& a) {
  using std::tanh;
  const S t = tanh(a.v);
  const S slope = S(1.0) - t * t;
  return a.chain(t, slope, S(-2.0) * t * slope);
}
template <typename S, int N>
Jet2<S, N> reciprocal(const Jet2<S, N>& a) {
  const S inverse = S(1.0) / a.v;
  const S square = inverse * inverse;
  return a.chain(inverse, -square, S(2.0) * square * inverse);
}
template <typename S, int N>
Jet2<S, N> operator/(const Jet2<S, N>& a, const Jet2<S, N>& b) {
  return a * reciprocal(b);
}
// Angle of (x, y); derivatives in the rotated frame, so that no quadrant is special.
template <typename S, int N>
Jet2<S, N> atan2(const Jet2<S, N>& y, const Jet2<S, N>& x) {
  using std::atan2;
  const S inverse = S(1.0) / (x.v * x.v + y.v * y.v);
  Jet2<S, N> r(atan2(y.v, x.v));
  // dt = (x dy - y dx) / r^2 ; dn = (x dx + y dy) / r^2 ; d2t = (x d2y - y d2x)/r^2 - dt dn - dn dt
  std::array<S, N> normal;
  for (std::size_t i = 0; i < N; ++i) {
    r.g[i] = (x.v * y.g[i] - y.v * x.g[i]) * inverse;
    normal[i] = (x.v * x.g[i] + y.v * y.g[i]) * inverse;
  }
  std::size_t k = 0;
  for (std::size_t i = 0; i < N; ++i) {
    for (std::size_t j = i; j < N; ++j, ++k) {
      r.h[k] = (x.v * y.h[k] - y.v * x.h[k]) * inverse - r.g[i] * normal[j] - normal[i] * r.g[j];
    }
  }
  return r;
}

template <typename S, int N>
double value_of(const Jet2<S, N>& a) {
  return value_of(a.v);
}

}  // namespace lintel::posture
