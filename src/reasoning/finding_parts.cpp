#include "reasoning/finding_parts.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "base/text.h"
#include "reasoning/defaults.h"
#include "reasoning/test_limits.h"

namespace lintel::reasoning {
namespace {

using posture::Limit;

double degrees(double radians) {
  return radians * kDegreesPerRadian;
}
// No "-0" in front of people.
double whole_degrees(double radians) {
  return std::round(degrees(radians)) + 0.0;
}

std::string size_text(const Size& s, const char* of) {
  return text("%.0f deg%s (95 %%: %.0f to %.0f)", whole_degrees(s.value), of, whole_degrees(s.low),
              whole_degrees(s.high));
}

const std::optional<Estimate>& seen_by(const Observation& o, SeenQuantity quantity) {
  switch (quantity) {
    case SeenQuantity::Trunk:
      return o.trunk_inclination;
    case SeenQuantity::Shank:
      return o.shank_inclination;
    case SeenQuantity::HeelLift:
      return o.heel_lift;
    default:
      return o.shoulder_change_given;
  }
}
const std::optional<Estimate>& seen_by(const SeenRepetition& r, SeenQuantity quantity) {
  switch (quantity) {
    case SeenQuantity::Trunk:
      return r.trunk_inclination;
    case SeenQuantity::Shank:
      return r.shank_inclination;
    case SeenQuantity::HeelLift:
      return r.heel_lift;
    default:
      return r.shoulder_change_given;
  }
}

std::string seen_text(SeenQuantity quantity, const Estimate& e) {
  const double value = whole_degrees(e.value);
  const double error = whole_degrees(e.standard_error);
  switch (quantity) {
    case SeenQuantity::Trunk:
      return text("trunk %.0f deg from vertical at the bottom +/- %.0f", value, error);
    case SeenQuantity::Shank:
      return text("shank %.0f deg from vertical at the bottom +/- %.0f", value, error);
    case SeenQuantity::HeelLift:
      return text("heels %.1f cm off the floor at the bottom +/- %.1f", 100.0 * e.value,
                  100.0 * e.standard_error);
    default:
      return text("arm against trunk %+.0f deg on the way down beyond what the lean asks +/- %.0f",
                  value, error);
  }
}

std::string_view seen_code(SeenQuantity quantity) {
  switch (quantity) {
    case SeenQuantity::Trunk:
      return "trunk_inclination";
    case SeenQuantity::Shank:
      return "shank_inclination";
    case SeenQuantity::HeelLift:
      return "heel_lift";
    default:
      return "shoulder_change_given";
  }
}

template <typename Predicate>
double share_of(const std::vector<DrawSample>& samples, const Predicate& holds) {
  double all = 0.0, held = 0.0;
  for (const DrawSample& s : samples) {
    all += s.weight;
    if (holds(s)) held += s.weight;
  }
  return all > 0.0 ? held / all : 0.0;
}

}  // namespace

double PartStatistics::probability_above(Factor factor, double least) const {
  return share_of(explained_.uncertainty.samples,
                  [&](const DrawSample& s) { return s.parts[index_of(factor)] >= least; });
}

double PartStatistics::probability_below(Factor factor, double most) const {
  return share_of(explained_.uncertainty.samples,
                  [&](const DrawSample& s) { return s.parts[index_of(factor)] < most; });
}

double PartStatistics::probability_whole_below(double most) const {
  return share_of(explained_.uncertainty.samples, [&](const DrawSample& s) {
    return std::accumulate(s.parts.begin(), s.parts.end(), 0.0) < most;
  });
}

Size PartStatistics::size(Factor factor) const {
  const Spread& spread = explained_.uncertainty.parts[index_of(factor)];
  return {explained_.shares.parts[index_of(factor)], spread.low, spread.high};
}

std::string quantity_text(Quantity quantity, double value) {
  switch (quantity) {
    case Quantity::Angle:
      return text("%.0f deg", whole_degrees(value));
    case Quantity::Length:
      return text("%.1f cm", std::round(1000.0 * value) / 10.0 + 0.0);
    default:
      return text("%.0f", value);
  }
}

std::vector<Evidence> video_evidence(const FindingsInput& input, SeenQuantity quantity,
                                     Bearing bearing, const std::string& note) {
  std::vector<Evidence> out;
  const auto& mean = seen_by(input.observation, quantity);
  if (!mean) return out;
  Evidence e;
  e.source = EvidenceSource::Video;
  e.bearing = bearing;
  e.code = std::string(seen_code(quantity));
  if (quantity == SeenQuantity::HeelLift) e.quantity = Quantity::Length;
  e.value = mean;
  e.assessment = input.assessment;
  e.text = seen_text(quantity, *mean) + note;
  out.push_back(e);
  for (const SeenRepetition& r : input.repetitions) {
    const auto& value = seen_by(r, quantity);
    if (!value) continue;
    e.value = value;
    e.repetition = r.number;
    e.frame = r.frame;
    e.text = seen_text(quantity, *value);
    out.push_back(e);
  }
  return out;
}

Evidence test_evidence(const TestReading& r, Bearing bearing) {
  Evidence e;
  e.source = EvidenceSource::Test;
  e.bearing = bearing;
  e.code = std::string(body::mobility_test_name(r.test));
  e.quantity = r.test == body::MobilityTest::KneeToWall ? Quantity::Length : Quantity::Angle;
  e.value = r.entered;
  e.against = r.pass_line_entered;
  e.test = r.test;
  e.side = r.side;
  const std::string error = e.quantity == Quantity::Length
                                ? text("%.1f cm", 100.0 * r.entered.standard_error)
                                : text("%.0f deg", whole_degrees(r.entered.standard_error));
  e.text =
      std::string(test_label(r.test)) + (r.side == body::Side::Left ? ", left: " : ", right: ") +
      quantity_text(e.quantity, r.entered.value) + " +/- " + error + ", " +
      (r.passes ? "passes" : "short of") + " " + quantity_text(e.quantity, r.pass_line_entered);
  return e;
}

Evidence setup_evidence(Factor lever, double today, double best) {
  Evidence e;
  e.source = EvidenceSource::Setup;
  e.code = std::string(factor_name(lever));
  e.quantity = lever == Factor::ToeOut ? Quantity::Angle : Quantity::Length;
  e.value = Estimate{today, 0.0};
  e.against = best;
  e.bearing = std::abs(today - best) > 1e-6 ? Bearing::Supports : Bearing::Contradicts;
  e.text = std::string(factor_label(lever)) + " " + quantity_text(e.quantity, today) + ", best " +
           quantity_text(e.quantity, best) + " with reference mobility";
  return e;
}

Evidence model_evidence(const ExplainResult& r, Factor factor, Bearing bearing) {
  Evidence e;
  e.source = EvidenceSource::Model;
  e.bearing = bearing;
  e.code = "share_of_lean";
  const std::size_t i = index_of(factor);
  e.value = Estimate{r.shares.parts[i], r.uncertainty.parts[i].standard_deviation};
  e.text = text("model: %.0f deg of the lean, largest part with probability %.0f %%",
                whole_degrees(r.shares.parts[i]), 100.0 * r.uncertainty.probability_largest[i]);
  return e;
}

bool shank_stays_back(const FindingsInput& input) {
  const auto& shank = input.observation.shank_inclination;
  if (!shank) return false;
  const double noted = default_table().value("explain.shank_noted");
  return shank->value + 2.0 * shank->standard_error <
         input.explained.most_upright.posture.shank_inclination - noted;
}

std::string part_sentence(const Finding& f) {
  const std::string word(confidence_word(f.confidence));
  if (f.confidence == Confidence::Unlikely) {
    return text("Not found to cost lean (%s, %.0f %%): ", word.c_str(), 100.0 * f.probability) +
           size_text(*f.size, "") + ".";
  }
  return text("Costs %s; %s (%.0f %%), the largest part with probability %.0f %%.",
              size_text(*f.size, " of lean").c_str(), word.c_str(), 100.0 * f.probability,
              100.0 * f.probability_largest);
}

std::string untested_sentence(const Finding& f, const FindingsInput& input) {
  if (f.part == Factor::Habit) {
    return "Whether this lean is habit or stiffness cannot be told before the ankle is tested.";
  }
  std::string out = "Not tested, so no finding.";
  if (f.part == Factor::Ankle && input.explained.observed) {
    out +=
        " A forward trunk proves no stiff ankle: as a test for one the overhead squat misses "
        "hardly any (sensitivity 1.00) and calls two in three free ankles stiff (specificity "
        "0.34 to 0.36, Rabin & Kozol 2017).";
  }
  if (f.confidence != Confidence::Unlikely) {
    out += text(" With the range of an average adult it would cost %s.",
                size_text(*f.size, " of lean").c_str());
  }
  return out;
}

std::string open_limits(const ExplainResult& explained, Factor factor) {
  std::string out;
  for (const Limit limit : limits_of(factor)) {
    for (const MissingTest& m : explained.missing) {
      if (m.limit == limit) out += (out.empty() ? "" : "; ") + std::string(test_label(m.test));
    }
  }
  return out;
}

Result<std::vector<TestReading>> read_tests(const body::Athlete& athlete,
                                            const body::SegmentLengths& lengths) {
  std::vector<TestReading> out;
  const posture::AthleteLimits limits = LINTEL_TRY(posture::limits_from_tests(athlete, lengths));
  const posture::Limits reference = reference_mobility(limits.limits, lengths);
  for (const TestOfLimit& test : tests_of_limits()) {
    for (const body::Side side : {body::Side::Left, body::Side::Right}) {
      const auto& result = athlete.tests[test.test][static_cast<std::size_t>(side)];
      const bool taken = std::any_of(out.begin(), out.end(), [&](const TestReading& r) {
        return r.limit == test.limit && r.side == side;
      });
      if (!result || taken) continue;
      TestReading r{test.test, test.limit, side, *result, {}, 0.0, 0.0, false};
      if (r.entered.standard_error <= 0.0) r.entered.standard_error = default_error(test.test);
      r.range = LINTEL_TRY(range_of_result(athlete, test, r.entered, lengths));
      r.pass_line = reference[test.limit].edge;
      r.pass_line_entered = result_of_range(test, r.pass_line, lengths);
      // In what was entered: the error of a conversion does not make a test passed.
      const double margin = r.test == body::MobilityTest::ArmToWallTurnedIn ||
                                    r.test == body::MobilityTest::ArmToWallTurnedOut
                                ? r.pass_line_entered - r.entered.value
                                : r.entered.value - r.pass_line_entered;
      r.passes = margin >= -r.entered.standard_error;
      out.push_back(r);
    }
  }
  return out;
}

}  // namespace lintel::reasoning
