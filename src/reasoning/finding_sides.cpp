// Findings that are not parts of the lean themselves: left against right, arms that do not reach.
#include <algorithm>
#include <cmath>
#include <span>

#include "base/normal.h"
#include "base/text.h"
#include "body/measurement_error.h"
#include "reasoning/defaults.h"
#include "reasoning/finding_parts.h"

namespace lintel::reasoning {
namespace {

double degrees(double radians) {
  return radians * kDegreesPerRadian;
}

std::optional<Factor> factor_of(posture::Limit limit) {
  for (int i = kLeverFactorCount; i < kPhysicalFactorCount; ++i) {
    const auto limits = limits_of(static_cast<Factor>(i));
    if (std::find(limits.begin(), limits.end(), limit) != limits.end()) {
      return static_cast<Factor>(i);
    }
  }
  return std::nullopt;
}

// A difference that healthy people have as well; 0 where no figure is known.
double usual_difference(body::MobilityTest test) {
  return test == body::MobilityTest::KneeToWall ? default_table().value("side.knee_to_wall") : 0.0;
}

}  // namespace

std::optional<std::string> side_finding_id(const TestOfLimit& test) {
  const auto part = factor_of(test.limit);
  if (!part) return std::nullopt;
  return std::string(factor_name(*part)) + "_side." +
         std::string(body::mobility_test_name(test.test));
}

std::optional<Finding> side_finding(const TestReading& left, const TestReading& right) {
  const auto part = factor_of(left.limit);
  const double difference = left.entered.value - right.entered.value;
  const double detectable =
      body::minimal_detectable_change(left.entered.standard_error, right.entered.standard_error);
  const double noted = std::max(detectable, usual_difference(left.test));
  if (!part || std::abs(difference) <= noted) return std::nullopt;
  const bool left_stiffer = left.range.value < right.range.value;
  const TestReading& worse = left_stiffer ? left : right;
  const TestReading& better = left_stiffer ? right : left;
  Finding f;
  f.id = *side_finding_id({left.test, left.limit});
  f.kind = FindingKind::Side;
  f.part = part;
  f.side = worse.side;
  f.size_of = SizeOf::RangeDifference;
  const double range = better.range.value - worse.range.value;
  const double error = std::hypot(left.entered.standard_error, right.entered.standard_error);
  f.probability = normal_cdf(std::abs(difference) / error);
  f.confidence = confidence_of(f.probability);
  // What both sides share (foot and shank, a ratio) cancels in the difference.
  const double range_error = range * error / std::abs(difference);
  f.size = Size{range, range - 1.96 * range_error, range + 1.96 * range_error};
  const Quantity quantity =
      left.test == body::MobilityTest::KneeToWall ? Quantity::Length : Quantity::Angle;
  const std::string side = f.side == body::Side::Left ? "left" : "right";
  f.title = std::string(test_label(left.test)) + ": " + side + " side";
  f.sentence = text("%s less on the %s, more than the error of the difference (%s): %s (%.0f %%).",
                    quantity_text(quantity, std::abs(difference)).c_str(), side.c_str(),
                    quantity_text(quantity, noted).c_str(),
                    std::string(confidence_word(f.confidence)).c_str(), 100.0 * f.probability);
  if (better.passes && !worse.passes) {
    f.conflict = text(
        "Passes on the %s only: a matter of the %s side, not of both. The model takes the worse "
        "side; look from the front for a shift or turn away from it.",
        f.side == body::Side::Left ? "right" : "left", side.c_str());
  }
  return f;
}

namespace {

// How far the range of the worse side is short of the reference; nothing where it was not tested.
std::optional<Estimate> deficit_of(std::span<const TestReading> readings, posture::Limit limit) {
  std::optional<Estimate> worst;
  for (const TestReading& r : readings) {
    if (r.limit != limit) continue;
    const double deficit = r.pass_line - r.range.value;
    if (!worst || deficit > worst->value) worst = Estimate{deficit, r.range.standard_error};
  }
  return worst;
}

std::string arms_sentence(const ShoulderChange& s) {
  return text(
      "At this lean and grip the arms need %.0f deg against the upper back at the bottom; %.0f are "
      "there.",
      degrees(s.demanded_bottom), degrees(s.allowed_bottom));
}

}  // namespace

std::optional<Finding> arms_finding(const FindingsInput& input,
                                    std::span<const TestReading> readings) {
  const ExplainResult& r = input.explained;
  const ShoulderChange& s = *r.shoulders;
  const bool by_latissimus = s.allowed_bottom < s.allowed_bottom_by_joint - 1e-6;
  const Factor part = by_latissimus ? Factor::Latissimus : Factor::Shoulder;
  const posture::Limit limit = limits_of(part).front();
  const double noted = default_table().value("observed.shoulder_change_noted");
  const double missing = s.demanded_bottom - s.allowed_bottom;
  const double error =
      std::hypot(r.uncertain_input.limits.standard_error[static_cast<std::size_t>(limit)],
                 r.observed ? r.observed->standard_error : 0.0);
  const double falls_short = normal_cdf((missing - noted) / std::max(error, 1e-9));
  if (confidence_of(falls_short) == Confidence::Unlikely) return std::nullopt;
  Finding f;
  f.id = "arms_overhead";
  f.kind = FindingKind::ArmsOverhead;
  f.part = part;
  f.size_of = SizeOf::ArmAngle;
  f.title = "Arms overhead";
  f.sentence = arms_sentence(s);
  const auto deficit = deficit_of(readings, limit);
  if (!deficit) {
    f.kind = FindingKind::Untested;
    f.size = Size{missing, missing - 1.96 * error, missing + 1.96 * error};
    f.probability = falls_short;
    f.confidence = confidence_of(f.probability);
    f.sentence +=
        " That counts on the range of an average adult: " + std::string(factor_label(part)) +
        " was not tested, so no finding.";
    return f;
  }
  // What more range can give back; the rest of the gap is there because the trunk leans.
  const double short_by = std::min(missing, deficit->value);
  f.size = Size{short_by, short_by - 1.96 * deficit->standard_error,
                short_by + 1.96 * deficit->standard_error};
  f.probability = falls_short * normal_cdf((deficit->value - noted) / deficit->standard_error);
  f.confidence = confidence_of(f.probability);
  if (f.confidence == Confidence::Unlikely) {
    f.conflict =
        "The arm tests pass: the gap comes with the lean and goes with it. Mend the lean first; a "
        "wider grip bridges it meanwhile.";
    return f;
  }
  f.sentence += text(" %.0f deg of the gap are range (95 %%: %.0f to %.0f), %s (%.0f %%).",
                     degrees(short_by), degrees(f.size->low), degrees(f.size->high),
                     std::string(confidence_word(f.confidence)).c_str(), 100.0 * f.probability);
  if (s.expected_change_by_latissimus < -noted) {
    f.sentence += text(
        " Standing they get there; as the low back rounds the latissimus takes about %.0f deg.",
        degrees(-s.expected_change_by_latissimus));
  }
  return f;
}

}  // namespace lintel::reasoning
