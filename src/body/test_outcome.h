// What a record of mobility tests says: means, errors, pass lines, left against right, and the
// athlete with the tests filled in.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "body/test_record.h"

namespace lintel::body {

struct PassCheck {
  Estimate line;  // SI, for this athlete
  bool passes = false;
  double probability = 0.0;   // that the true value passes, errors of test and line together
  bool within_error = false;  // nearer to the line than 1.96 standard errors
};

// One protocol on one side.
struct TestOutcome {
  const TestProtocol* protocol = nullptr;
  const TestEntry* entry = nullptr;
  Estimate result;  // SI; mean of the tries, or what reach / no reach leaves to be expected
  double standard_deviation = 0.0;  // of the tries, n - 1; 0 with fewer than two
  ProtocolError error_used;         // the published one, the workplace's or the tester's own
  bool own_error = false;
  std::optional<PassCheck> pass;
  std::vector<WarningSign> done_against;  // warning signs under which it should not be done
};

// Left against right of one protocol.
struct SideComparison {
  const TestProtocol* protocol = nullptr;
  Estimate difference;        // left less right, SI
  double detectable = 0.0;    // 1.96 sqrt(SE_left^2 + SE_right^2)
  bool beyond_error = false;  // larger than `detectable`
  bool beyond_usual = false;  // larger than what is usual in healthy people, where known
};

struct RecordOutcome {
  std::vector<TestOutcome> results;  // in the order of the record
  std::vector<SideComparison> sides;
  std::vector<std::string> remarks;  // ankle by distance and by angle side by side, ...
};

// Mean and standard error of several tries: session^2 + trial^2 / n, where trial^2 is the
// protocol's, pooled with the spread of these tries (the protocol's counts as prior_tries
// of data/mobility/tests.csv degrees of freedom, these as n - 1): one wild try widens the error,
// two that agree by luck do not make it vanish. tries not empty, SI.
Estimate mean_of_tries(const std::vector<double>& tries, const MeasurementError& error);

// What reach / no reach leaves to be expected of a value that was normal (prior) before, when the
// test has this standard error: P(reach | x) = Phi(+-(x - line) / error). Mean and SD of x given
// the answer, in closed form (probit likelihood on a normal prior); error and line's own error are
// taken together.
Estimate value_given_reach(const ReachPrior& prior, const Estimate& line, double error,
                           Better better, Reached reached);

// Protocols and record must outlive the outcome. Errors: Invalid, with the field: unknown protocol,
// a side that the protocol does not have, the same protocol and side twice, a value out of the
// protocol's range, reach where it has no line, another athlete's record.
Result<RecordOutcome> evaluate_record(const TestRecord& record,
                                      const std::vector<TestProtocol>& protocols,
                                      const Athlete& athlete);

// The athlete with every test of the outcome that informs the model filled in, errors included;
// what the record does not mention stays. Distance and angle of the ankle fill two different slots.
Athlete with_results(const Athlete& athlete, const RecordOutcome& outcome);

// The other way: the results that an athlete already carries, as a record of no known day (date of
// the epoch, no tester), each value as one try; its
// error is that of the worse side. Tests without a protocol are left out.
TestRecord record_of_stored(const Athlete& athlete, const std::vector<TestProtocol>& protocols);

}  // namespace lintel::body
