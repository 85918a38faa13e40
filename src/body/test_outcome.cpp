#include "body/test_outcome.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/normal.h"
#include "base/text.h"
#include "body/anthropometry.h"
#include "body/knee_to_wall.h"
#include "body/tables.h"

namespace lintel::body {
namespace {

// density / probability, which tends to -z far below zero, where both vanish.
double inverse_mills(double z) {
  return z < -30.0 ? -z : normal_density(z) / normal_cdf(z);
}

Error fault(std::size_t index, std::string_view key, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = text("results[%zu].", index) + std::string(key);
  return error;
}

std::string in_unit(double si, ProtocolUnit unit) {
  return text("%.4g %s", si / si_per_unit(unit), std::string(protocol_unit_name(unit)).c_str());
}

Result<void> check_entry(const TestEntry& entry, const TestProtocol& protocol, std::size_t index) {
  const bool sided = protocol.sides == Sides::Each;
  if (sided == (entry.side == TestSide::Both)) {
    return fail(fault(index, "side", "is \"" + std::string(test_side_name(entry.side)) + "\"",
                      sided ? "write \"left\" or \"right\": this test is done on each side"
                            : "leave it out: this test has no sides"));
  }
  if (entry.reached) {
    if (entry.tries.empty() && protocol.pass_line && protocol.reach) return {};
    return fail(
        fault(index, "reached",
              entry.tries.empty() ? "this test cannot be entered as reach / no reach"
                                  : "reach / no reach and numbers are both given",
              entry.tries.empty() ? "enter its tries as numbers" : "leave one of them out"));
  }
  if (entry.tries.empty()) {
    return fail(fault(index, "tries", "is empty", "enter at least one try"));
  }
  for (const double value : entry.tries) {
    constexpr double kRounding = 1e-9;
    if (value >= protocol.lowest - kRounding && value <= protocol.highest + kRounding) continue;
    return fail(fault(index, "tries",
                      in_unit(value, protocol.unit) + " is outside of the allowed range " +
                          in_unit(protocol.lowest, protocol.unit) + " to " +
                          in_unit(protocol.highest, protocol.unit),
                      "measure again or correct the entry"));
  }
  return {};
}

double spread_of(const std::vector<double>& tries) {
  if (tries.size() < 2) return 0.0;
  const double n = static_cast<double>(tries.size());
  double mean = 0.0, sum = 0.0;
  for (const double t : tries) mean += t / n;
  for (const double t : tries) sum += (t - mean) * (t - mean);
  return std::sqrt(sum / (n - 1.0));
}

PassCheck check_pass(const Estimate& result, const Estimate& line, Better better) {
  const double sign = better == Better::Lower ? -1.0 : 1.0;
  const double margin = sign * (result.value - line.value);
  const double error = std::hypot(result.standard_error, line.standard_error);
  PassCheck check{line, margin >= 0.0, margin >= 0.0 ? 1.0 : 0.0, false};
  if (error > 0.0) {
    check.probability = normal_cdf(margin / error);
    check.within_error = std::abs(margin) < normal_factor(Confidence::Percent95) * error;
  }
  return check;
}

struct Evaluation {
  const TestRecord& record;
  const std::vector<TestProtocol>& protocols;
  const Athlete& athlete;

  Result<TestOutcome> evaluate(const TestEntry& entry, std::size_t index) const {
    TestOutcome out;
    out.protocol = find_protocol(protocols, entry.protocol);
    out.entry = &entry;
    if (out.protocol == nullptr) {
      return fail(fault(index, "protocol", "is \"" + entry.protocol + "\", which is not known",
                        "list the protocols with: lintel tests list"));
    }
    LINTEL_TRY_VOID(check_entry(entry, *out.protocol, index));
    out.error_used = out.protocol->standard_error;
    out.own_error = out.protocol->own_error;
    for (const OwnError& own : record.standard_errors) {
      if (own.protocol != entry.protocol) continue;
      out.error_used = own.error;
      out.own_error = true;
    }
    out.done_against = signs_against(*out.protocol, athlete);
    std::optional<Estimate> line;
    if (out.protocol->pass_line) {
      line = LINTEL_TRY(pass_line_of(*out.protocol->pass_line, athlete, record.hand_breadth));
    }
    const MeasurementError error = measurement_error(out.error_used);
    if (entry.reached) {
      out.result = value_given_reach(*out.protocol->reach, *line, error_of_mean(error, 1),
                                     out.protocol->better, *entry.reached);
      const bool yes = *entry.reached == Reached::Yes;
      const PassCheck odds = check_pass(out.result, *line, out.protocol->better);
      out.pass = PassCheck{*line, yes, odds.probability, false};
      return out;
    }
    out.result = mean_of_tries(entry.tries, error);
    if (entry.tries_error) {
      // The method's own error (a photo) does not shrink with tries taken off the same picture.
      out.result.standard_error = std::hypot(out.result.standard_error, *entry.tries_error);
    }
    out.standard_deviation = spread_of(entry.tries);
    if (line) out.pass = check_pass(out.result, *line, out.protocol->better);
    return out;
  }
};

std::vector<SideComparison> compare_sides(const std::vector<TestOutcome>& results) {
  std::vector<SideComparison> sides;
  for (const TestOutcome& left : results) {
    if (left.entry->side != TestSide::Left) continue;
    for (const TestOutcome& right : results) {
      if (right.entry->side != TestSide::Right || right.protocol != left.protocol) continue;
      // Which side passes and which does not is all that reach / no reach tells.
      if (left.entry->reached || right.entry->reached) continue;
      SideComparison c;
      c.protocol = left.protocol;
      c.difference = {left.result.value - right.result.value,
                      std::hypot(left.result.standard_error, right.result.standard_error)};
      c.detectable =
          minimal_detectable_change(left.result.standard_error, right.result.standard_error);
      c.beyond_error = std::abs(c.difference.value) > c.detectable;
      c.beyond_usual = left.protocol->side_difference &&
                       std::abs(c.difference.value) > left.protocol->side_difference->value;
      sides.push_back(c);
    }
  }
  return sides;
}

std::string degrees_text(const Estimate& e) {
  return text("%.0f +/- %.0f deg", e.value * kDegreesPerRadian,
              e.standard_error * kDegreesPerRadian);
}

// Distance and angle of the ankle stay two results; by the athlete's own foot and shank each can be
// held against the other.
void remark_on_ankle(const std::vector<TestOutcome>& results, const Athlete& athlete,
                     std::vector<std::string>& remarks) {
  const auto segments = estimate_segments(athlete.sex, athlete.stature, athlete.measured_lengths);
  if (!segments) return;
  for (const TestOutcome& distance : results) {
    if (distance.protocol->informs.test != MobilityTest::KneeToWall) continue;
    const auto angle = dorsiflexion_from_knee_to_wall(distance.result, *segments);
    const std::string side(test_side_name(distance.entry->side));
    if (!angle) {
      remarks.push_back("Ankle, " + side + ": " + angle.error().message + ".");
      continue;
    }
    std::string remark = "Ankle, " + side + text(": %.1f cm", distance.result.value * 100.0) +
                         " is " + degrees_text(*angle) + " by this athlete's own foot and shank";
    for (const TestOutcome& other : results) {
      if (other.protocol->informs.test != MobilityTest::AnkleDorsiflexion ||
          other.entry->side != distance.entry->side) {
        continue;
      }
      const double gap = other.result.value - angle->value;
      const bool apart = std::abs(gap) > minimal_detectable_change(other.result.standard_error,
                                                                   angle->standard_error);
      remark += "; measured as an angle it is " + degrees_text(other.result) +
                (apart ? ": the two disagree by more than their errors, check where the "
                         "inclinometer lay and that the heel stayed down"
                       : ", which agrees") +
                ". The model takes the angle";
    }
    remarks.push_back(remark + ".");
  }
}

}  // namespace

std::string_view test_side_name(TestSide side) {
  static constexpr std::array<std::string_view, 3> kNames = {"left", "right", "both"};
  return kNames[static_cast<std::size_t>(side)];
}

Estimate mean_of_tries(const std::vector<double>& tries, const MeasurementError& error) {
  LINTEL_CHECK(!tries.empty());
  const double n = static_cast<double>(tries.size());
  double mean = 0.0;
  for (const double t : tries) mean += t / n;
  const double seen = spread_of(tries);
  const double prior = test_table().value("prior_tries");
  const double trial_variance =
      (prior * error.trial * error.trial + (n - 1.0) * seen * seen) / (prior + n - 1.0);
  return {mean, std::sqrt(error.session * error.session + trial_variance / n)};
}

Estimate value_given_reach(const ReachPrior& prior, const Estimate& line, double error,
                           Better better, Reached reached) {
  const bool upwards = (better == Better::Lower) != (reached == Reached::Yes);
  const double sign = upwards ? 1.0 : -1.0;
  const double variance = prior.spread * prior.spread;
  const double total =
      std::sqrt(variance + error * error + line.standard_error * line.standard_error);
  if (!(total > 0.0)) return {prior.mean, 0.0};
  const double z = sign * (prior.mean - line.value) / total;
  const double ratio = inverse_mills(z);
  const double left_over = variance - variance * variance / (total * total) * ratio * (z + ratio);
  return {prior.mean + sign * variance / total * ratio, std::sqrt(std::max(left_over, 0.0))};
}

Result<RecordOutcome> evaluate_record(const TestRecord& record,
                                      const std::vector<TestProtocol>& protocols,
                                      const Athlete& athlete) {
  if (record.athlete_id != athlete.id) {
    Error error{ErrorCode::Invalid,
                "the record is of \"" + record.athlete_id + "\", the athlete file of \"" +
                    athlete.id + "\"",
                {},
                "give the two files that belong together",
                {}};
    error.place.field = "athlete";
    return fail(std::move(error));
  }
  RecordOutcome outcome;
  const Evaluation evaluation{record, protocols, athlete};
  for (std::size_t i = 0; i < record.results.size(); ++i) {
    TestOutcome next = LINTEL_TRY(evaluation.evaluate(record.results[i], i));
    for (const TestOutcome& before : outcome.results) {
      if (before.protocol != next.protocol || before.entry->side != next.entry->side) continue;
      return fail(fault(i, "protocol", "this test and side were entered before",
                        "put all tries of one side into one result"));
    }
    outcome.results.push_back(std::move(next));
  }
  outcome.sides = compare_sides(outcome.results);
  remark_on_ankle(outcome.results, athlete, outcome.remarks);
  return outcome;
}

Athlete with_results(const Athlete& athlete, const RecordOutcome& outcome) {
  Athlete next = athlete;
  for (const TestOutcome& result : outcome.results) {
    const Informs& informs = result.protocol->informs;
    if (informs.grip_width) next.setup.grip_width = result.result.value;
    if (!informs.test) continue;
    const Number& range = range_table()[mobility_range_key(*informs.test)];
    const Estimate value{
        std::clamp(informs.offset + informs.factor * result.result.value, range.low, range.high),
        std::abs(informs.factor) * result.result.standard_error};
    SidedEstimate& slot = next.tests[*informs.test];
    if (result.entry->side == TestSide::Both) {
      slot = {value, std::nullopt};
    } else {
      slot[result.entry->side == TestSide::Left ? 0 : 1] = value;
    }
  }
  return next;
}

TestRecord record_of_stored(const Athlete& athlete, const std::vector<TestProtocol>& protocols) {
  TestRecord record;
  record.athlete_id = athlete.id;
  for (int t = 0; t < kMobilityTestCount; ++t) {
    const auto test = static_cast<MobilityTest>(t);
    const TestProtocol* protocol = protocol_for(protocols, test);
    if (protocol == nullptr) continue;
    const Informs& informs = protocol->informs;
    double error = 0.0;  // of the worse side; 0 = the published one
    for (const int side : {0, 1}) {
      const auto& stored = athlete.tests[test][static_cast<std::size_t>(side)];
      if (!stored) continue;
      TestEntry entry;
      entry.protocol = protocol->id;
      entry.side = protocol->sides == Sides::None ? TestSide::Both
                   : side == 0                    ? TestSide::Left
                                                  : TestSide::Right;
      entry.tries = {(stored->value - informs.offset) / informs.factor};
      error = std::max(error, stored->standard_error / std::abs(informs.factor));
      record.results.push_back(std::move(entry));
      if (protocol->sides == Sides::None) break;
    }
    if (error > 0.0) {
      record.standard_errors.push_back({protocol->id, {error, 1, 0.0, "stored with the result"}});
    }
  }
  return record;
}

}  // namespace lintel::body
