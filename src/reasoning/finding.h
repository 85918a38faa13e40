// Findings: what video, tests and model together say about one athlete, each with its evidence, its
// size, how sure it is, and what the practitioner made of it. SI and radians.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "base/date.h"
#include "reasoning/explain.h"

namespace lintel::reasoning {

// ---- One scale of words -------------------------------------------------------------------------

// How sure, by probability; ends in data/reasoning/defaults.csv (explain.clear, .likely,
// .possible).
enum class Confidence : std::uint8_t { Clear, Likely, Possible, Unlikely };
Confidence confidence_of(double probability);
std::string_view confidence_word(Confidence confidence);  // "clear", ...
// The scale in one sentence with its numbers; every text output prints it once.
std::string confidence_explanation();

// ---- Evidence -----------------------------------------------------------------------------------

enum class EvidenceSource : std::uint8_t {
  Video,  // what was measured in a clip, or typed in place of one
  Test,   // a mobility test, one side
  Setup,  // how the athlete stands and holds the bar today
  Model,  // what the posture model makes of the rest
};
std::string_view evidence_source_name(EvidenceSource source);
enum class Bearing : std::uint8_t { Supports, Contradicts };
std::string_view bearing_name(Bearing bearing);
enum class Quantity : std::uint8_t { Angle, Length, Count };  // [rad], [m], [1]

// One observation that speaks for or against a finding.
struct Evidence {
  EvidenceSource source = EvidenceSource::Video;
  Bearing bearing = Bearing::Supports;
  std::string code;  // "trunk_inclination", "knee_to_wall", ...: stable
  std::string text;  // one sentence for people, with the numbers
  Quantity quantity = Quantity::Angle;
  std::optional<Estimate> value;
  // What the value is held against: the pass line of a test (see pass_line()), what the body
  // allows.
  std::optional<double> against;
  std::optional<body::MobilityTest> test;
  std::optional<body::Side> side;
  std::string assessment;   // name of the assessment the value comes from; empty = none
  int repetition = 0;       // 1-based; 0 = mean over repetitions, or not of a clip
  std::int64_t frame = -1;  // of the clip; -1 = not of one frame
};

// ---- Findings -----------------------------------------------------------------------------------

enum class FindingKind : std::uint8_t {
  Range,                // a tested range pushes the trunk forward
  Setup,                // stance, toe-out, heel or grip of today does
  Habit,                // nothing forces it: the range is there and is not used
  Side,                 // left and right differ by more than the error of the test
  ArmsOverhead,         // the arms do not reach what this lean asks for
  Untested,             // a range that may be the cause and was not tested: no finding of a limit
  TestsAgainstPosture,  // the posture seen is one that the tests call impossible
  TestsExcludePosture,  // the tests exclude this depth with this setup
  Nothing,              // nothing worth changing was found
};
std::string_view finding_kind_name(FindingKind kind);

enum class FindingStatus : std::uint8_t {
  Standing,
  Conflict,   // the evidence disagrees; Finding::conflict says how it is read and what to do
  Overruled,  // the practitioner decided otherwise; the finding itself is kept as it was
};
std::string_view finding_status_name(FindingStatus status);

enum class SizeOf : std::uint8_t {
  Lean,             // of the trunk at the bottom
  RangeDifference,  // between the sides
  ArmAngle,         // missing overhead
};
std::string_view size_of_name(SizeOf size_of);

struct Size {
  double value = 0.0;  // [rad]
  double low = 0.0;    // 95 % interval
  double high = 0.0;
};

enum class Verdict : std::uint8_t {
  Rejected,   // it is not so
  Asserted,   // it is so, whatever the numbers say
  Withdrawn,  // the earlier word no longer counts: back to what was computed
};
std::string_view verdict_name(Verdict verdict);

// What the practitioner decided about one finding. The reason is not optional.
struct Overruling {
  std::string finding;  // Finding::id
  Verdict verdict = Verdict::Rejected;
  std::optional<double> size;  // [rad]; with Asserted only: instead of the computed one
  std::string reason;
  std::string who;
  Date date;
};

struct Finding {
  std::string id;  // stable between runs: "ankle", "habit", "ankle_side.knee_to_wall", ...
  FindingKind kind = FindingKind::Nothing;
  std::optional<Factor> part;      // of the lean; none for the two conflicts and Nothing
  std::optional<body::Side> side;  // the stiffer one, where it is one side only
  SizeOf size_of = SizeOf::Lean;
  std::optional<Size> size;  // as computed; none where nothing can be said
  // That the part costs at least what is noted (defaults.csv: finding.least_part,
  // explain.habit_noted), that the sides truly differ, that the arms truly fall short.
  double probability = 0.0;
  double probability_largest = 0.0;  // that no other part is larger; 0 where that means nothing
  Confidence confidence = Confidence::Unlikely;  // of `probability`
  std::string title;                             // "Ankle range"
  std::string sentence;                          // one or two sentences with numbers and word
  std::vector<Evidence> evidence;
  std::string
      conflict;  // how the evidence disagrees, how it is read, what to do; empty = it agrees
  // The word that counts; title, size, probability above stay as computed.
  std::optional<Overruling> overruling;
  std::vector<Overruling> earlier_overrulings;  // oldest first; a withdrawal is among them

  FindingStatus status() const;  // Overruled before Conflict before Standing
  // What counts after the practitioner's word.
  double effective_probability() const;
  std::optional<Size> effective_size() const;
};

// What one repetition showed; entries that were not measured are empty.
struct SeenRepetition {
  int number = 0;           // 1-based, as in the assessment
  std::int64_t frame = -1;  // of the bottom
  std::optional<Estimate> trunk_inclination, shank_inclination, shoulder_change_given;  // [rad]
  std::optional<Estimate> heel_lift = std::nullopt;                                     // [m]
};

struct FindingsInput {
  const body::Athlete& athlete;
  const Observation& observation;
  const ExplainResult& explained;  // of these two, with ExplainOptions::samples Kept
  std::vector<SeenRepetition> repetitions;
  std::string assessment;  // name of the clip's assessment, for the evidence; may be empty
};

struct Findings {
  std::vector<Finding> all;  // conflicts first, then what costs most: |size| times probability
  // Overrulings that name no finding of today: kept, so that nothing that was decided is lost.
  std::vector<Overruling> unmatched;
  const Finding* find(std::string_view id) const;
};

// Joins video, tests and model. Rules (docs/answers.md, "Findings"):
//  - a range is a finding only where it was tested; where it was not it is Untested, whatever the
//    video shows (forward trunk in the overhead squat: sensitivity 1.00, specificity 0.34-0.36 for
//    a stiff ankle, Rabin & Kozol 2017);
//  - a posture that looks like a stiff ankle over an ankle that passes its test is habit, and the
//    disagreement is shown;
//  - sides count as different above the minimal detectable change of the difference and, for the
//    ankle, above what is usual (side.knee_to_wall).
// Errors: Invalid when the explanation holds no samples.
Result<Findings> find_findings(const FindingsInput& input);

// Every id a finding can have.
std::vector<std::string> finding_ids();

// Marks what was overruled. The last word on a finding counts (by date, then by order); earlier
// ones stay on record.
void overrule(Findings& findings, std::span<const Overruling> overrulings);

// ---- What the tests are held against ------------------------------------------------------------

// One test result on one side, as the range it stands for.
struct TestReading {
  body::MobilityTest test = body::MobilityTest::KneeToWall;
  posture::Limit limit = posture::Limit::AnkleDorsiflexion;
  body::Side side = body::Side::Left;
  Estimate entered;                // as entered, with the test's own error [rad, m]
  Estimate range;                  // as the limit [rad]
  double pass_line = 0.0;          // of the range: the reference mobility [rad]
  double pass_line_entered = 0.0;  // the same as a result of this test [rad, m]
  bool passes = false;             // the result plus its standard error reaches the line
};
// Every result of the athlete that informs a limit of a part; left before right. Where two tests
// inform the same limit of one side only the one that the model takes (posture/limits.h). Errors:
// those of posture::limits_from_tests.
Result<std::vector<TestReading>> read_tests(const body::Athlete& athlete,
                                            const body::SegmentLengths& lengths);

// ---- What there is to work on -------------------------------------------------------------------

// A part of the lean (or a side of it) that a plan may aim at, after the practitioner's word.
struct Target {
  std::string finding;  // Finding::id
  Factor part = Factor::Ankle;
  std::optional<body::Side> side;
  Size size;  // of lean [rad]: what there is to gain
  double probability = 0.0;
};
// Findings of kind Range, Setup, Habit and ArmsOverhead that are at least possible and of at least
// finding.least_part, and what the practitioner asserted, Untested ones too; the most expected
// degrees (size times probability) first. Setup before mobility: levers come first whatever their
// size. Rejected findings are left out. A Side finding adds its side to the target of its part. The
// size of ArmsOverhead is the part of the missing arm angle that is range: over a balanced bar a
// degree of it is a degree of lean that the arms forbid.
std::vector<Target> targets_from_findings(const Findings& findings);

}  // namespace lintel::reasoning
