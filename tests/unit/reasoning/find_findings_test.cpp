// Athletes constructed so that the right finding is known beforehand.
#include <algorithm>
#include <cmath>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "reasoning/finding.h"
#include "reasoning/test_limits.h"
#include "support/reasoning_athletes.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using body::Side;
using ::testing::HasSubstr;

constexpr double kDegree = kRadiansPerDegree;
constexpr std::array kRanges = {Factor::Ankle, Factor::Hip, Factor::Thorax, Factor::Shoulder,
                                Factor::Latissimus};

struct Case {
  body::Athlete athlete;
  Observation seen;
  ExplainResult explained;
  Findings findings;
};

Case examine(const body::Athlete& athlete, const Observation& seen, int draws = 400) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = draws;
  options.samples = Samples::Kept;
  Case c{athlete, seen, explain(athlete, seen, options, executor, {}).value(), {}};
  c.findings = find_findings({c.athlete, c.seen, c.explained, {}, ""}).value();
  return c;
}

// Every test at the reference, the setup at its best for that.
body::Athlete well_set_up() {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.setup = test::reasoning_case(athlete).comparison.best;
  return athlete;
}

// As upright as the body allows, with the shank that goes with it.
Observation as_upright_as_possible(const body::Athlete& athlete) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = 20;
  options.extras = Extras::SharesOnly;
  const auto r = explain(athlete, {}, options, executor, {}).value();
  Observation seen = test::seen_lean(r.shares.most_upright / kDegree);
  seen.shank_inclination = Estimate{r.most_upright.posture.shank_inclination, 1.5 * kDegree};
  return seen;
}

const Finding& finding(const Case& c, std::string_view id) {
  const Finding* f = c.findings.find(id);
  EXPECT_NE(f, nullptr) << id;
  static const Finding kNone;
  return f != nullptr ? *f : kNone;
}

std::vector<Factor> target_parts(const Findings& findings) {
  std::vector<Factor> parts;
  for (const Target& t : targets_from_findings(findings)) parts.push_back(t.part);
  return parts;
}

bool has_evidence(const Finding& f, EvidenceSource source, Bearing bearing) {
  return std::any_of(f.evidence.begin(), f.evidence.end(),
                     [&](const Evidence& e) { return e.source == source && e.bearing == bearing; });
}

// Forward trunk in the overhead squat as a test for a stiff ankle: sensitivity 1.00, specificity
// 0.34 to 0.36 (Rabin & Kozol 2017, JSCR 31:1251-1258). So the video alone finds nothing.
TEST(FindFindings, AForwardTrunkWithoutTestsIsNoFindingOfAnyRange) {
  for (const double lean : {40.0, 50.0, 60.0}) {
    for (const double shank : {15.0, 25.0}) {
      body::Athlete athlete = well_set_up();
      athlete.tests = {};
      Observation seen = test::seen_lean(lean);
      seen.shank_inclination = test::degrees_of(shank, 1.5);
      const Case c = examine(athlete, seen, 200);
      for (const Factor factor : kRanges) {
        EXPECT_EQ(finding(c, factor_name(factor)).kind, FindingKind::Untested) << lean;
      }
      for (const Factor part : target_parts(c.findings)) EXPECT_TRUE(is_lever(part)) << lean;
      EXPECT_EQ(finding(c, "habit").kind, FindingKind::Untested);
      EXPECT_THAT(finding(c, "ankle").sentence, HasSubstr("proves no stiff ankle"));
      EXPECT_THAT(finding(c, "ankle").sentence, HasSubstr("0.34 to 0.36"));
    }
  }
}

TEST(FindFindings, WithoutTestsAndWithoutVideoNothingIsSaidAboutTheBody) {
  body::Athlete athlete = well_set_up();
  athlete.tests = {};
  const Case c = examine(athlete, {});
  EXPECT_EQ(c.findings.find("habit"), nullptr);
  EXPECT_EQ(c.findings.find("nothing"), nullptr);
  EXPECT_TRUE(target_parts(c.findings).empty());
}

TEST(FindFindings, AllTestsOfAllOtherRangesDoNotMakeAnAnkleFinding) {
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  const Case c = examine(athlete, test::seen_lean(50));
  EXPECT_EQ(finding(c, "ankle").kind, FindingKind::Untested);
  EXPECT_EQ(finding(c, "hip").kind, FindingKind::Range);
  for (const Factor part : target_parts(c.findings)) EXPECT_NE(part, Factor::Ankle);
}

TEST(FindFindings, NothingWrongIsSaid) {
  const body::Athlete athlete = well_set_up();
  const Case c = examine(athlete, as_upright_as_possible(athlete));
  EXPECT_EQ(c.findings.all.front().kind, FindingKind::Nothing);
  EXPECT_TRUE(target_parts(c.findings).empty());
}

TEST(FindFindings, HabitOverAnAnkleThatPassesIsHabitAndTheDisagreementIsShown) {
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.11, 0}, Estimate{0.11, 0}};
  Observation seen = test::seen_lean(54);
  seen.shank_inclination = test::degrees_of(19, 1.5);
  const Case c = examine(athlete, seen);
  const Finding& habit = finding(c, "habit");
  EXPECT_EQ(habit.kind, FindingKind::Habit);
  EXPECT_EQ(habit.confidence, Confidence::Clear);
  EXPECT_EQ(habit.status(), FindingStatus::Conflict);
  EXPECT_THAT(habit.conflict, HasSubstr("read as habit"));
  EXPECT_TRUE(has_evidence(habit, EvidenceSource::Test, Bearing::Supports));
  EXPECT_TRUE(has_evidence(habit, EvidenceSource::Video, Bearing::Supports));
  EXPECT_GE(finding(c, "ankle").confidence, Confidence::Possible);
  EXPECT_LT(finding(c, "ankle").size->value, 2.0 * kDegree);
  EXPECT_EQ(target_parts(c.findings).front(), Factor::Habit);
}

TEST(FindFindings, AStiffAnkleOnBothSidesIsARangeFindingWithTestAndVideo) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 28);
  const Case c = examine(athlete, as_upright_as_possible(athlete));
  const Finding& ankle = finding(c, "ankle");
  EXPECT_EQ(ankle.kind, FindingKind::Range);
  EXPECT_EQ(ankle.confidence, Confidence::Clear);
  EXPECT_EQ(ankle.status(), FindingStatus::Standing);
  EXPECT_TRUE(has_evidence(ankle, EvidenceSource::Test, Bearing::Supports));
  EXPECT_FALSE(has_evidence(ankle, EvidenceSource::Test, Bearing::Contradicts));
  EXPECT_TRUE(has_evidence(ankle, EvidenceSource::Video, Bearing::Supports));
  EXPECT_EQ(c.findings.find("ankle_side.ankle_dorsiflexion"), nullptr);
  EXPECT_EQ(target_parts(c.findings).front(), Factor::Ankle);
  EXPECT_GT(ankle.size->value, 4.0 * kDegree);
  EXPECT_LE(ankle.size->low, ankle.size->value);
}

TEST(FindFindings, HeelsThatComeOffTheFloorAreToldWithTheAnkle) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 28);
  Observation seen = as_upright_as_possible(athlete);
  const auto told = [&](double lift, double error) {
    seen.heel_lift = Estimate{lift, error};
    const Case c = examine(athlete, seen);
    const Finding& ankle = finding(c, "ankle");
    const auto of_heels = std::find_if(ankle.evidence.begin(), ankle.evidence.end(),
                                       [](const Evidence& e) { return e.code == "heel_lift"; });
    const bool in_words = ankle.sentence.find("heels come off the floor") != std::string::npos;
    EXPECT_EQ(in_words, of_heels != ankle.evidence.end());
    if (in_words) {
      EXPECT_EQ(of_heels->quantity, Quantity::Length);
      EXPECT_EQ(of_heels->bearing, Bearing::Supports);
      EXPECT_THAT(of_heels->text, HasSubstr("heels 3.8 cm off the floor"));
    }
    return in_words;
  };
  EXPECT_TRUE(told(0.038, 0.012));
  EXPECT_FALSE(told(0.038, 0.025));  // within the error
  EXPECT_FALSE(told(0.006, 0.001));  // too little to speak of
}

TEST(FindFindings, AnkleOfOneSideIsASideFindingAndTheTargetHasTheSide) {
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {test::degrees_of(44), test::degrees_of(30)};
  const Case c = examine(athlete, as_upright_as_possible(athlete));
  const Finding& side = finding(c, "ankle_side.ankle_dorsiflexion");
  EXPECT_EQ(side.kind, FindingKind::Side);
  EXPECT_EQ(side.side, Side::Right);
  EXPECT_NEAR(side.size->value, 14.0 * kDegree, 1e-9);
  EXPECT_THAT(side.conflict, HasSubstr("Passes on the left only"));
  EXPECT_EQ(side.size_of, SizeOf::RangeDifference);
  const auto targets = targets_from_findings(c.findings);
  ASSERT_FALSE(targets.empty());
  EXPECT_EQ(targets.front().part, Factor::Ankle);
  EXPECT_EQ(targets.front().side, Side::Right);
}

// SEM 0.6 cm (Konor et al. 2012) on both sides: 1.96 * sqrt(2) * 0.6 = 1.66 cm; the difference of
// healthy people, 1.5 cm (Chisholm et al. 2012), is below it.
TEST(FindFindings, SidesDifferOnlyAboveTheDetectableDifference) {
  for (const auto& [right, differs] : {std::pair{0.085, false}, {0.0836, false}, {0.081, true}}) {
    body::Athlete athlete = well_set_up();
    athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
    athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.10, 0}, Estimate{right, 0}};
    const Case c = examine(athlete, {}, 50);
    EXPECT_EQ(c.findings.find("ankle_side.knee_to_wall") != nullptr, differs) << right;
  }
  // A tester with an error of 0.2 cm sees 1.0 cm, but that much is usual.
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {};
  athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.10, 0.002}, Estimate{0.09, 0.002}};
  EXPECT_EQ(examine(athlete, {}, 50).findings.find("ankle_side.knee_to_wall"), nullptr);
  athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.10, 0.002}, Estimate{0.08, 0.002}};
  EXPECT_NE(examine(athlete, {}, 50).findings.find("ankle_side.knee_to_wall"), nullptr);
}

TEST(FindFindings, AShortLatissimusIsFoundOverhead) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::ArmToWallTurnedOut, 25);
  const Case c = examine(athlete, test::seen_lean(35));
  const Finding& arms = finding(c, "arms_overhead");
  EXPECT_EQ(arms.kind, FindingKind::ArmsOverhead);
  EXPECT_EQ(arms.part, Factor::Latissimus);
  EXPECT_EQ(arms.size_of, SizeOf::ArmAngle);
  EXPECT_LE(arms.confidence, Confidence::Likely);
  const auto parts = target_parts(c.findings);
  EXPECT_NE(std::find(parts.begin(), parts.end(), Factor::Latissimus), parts.end());
}

TEST(FindFindings, ArmsThatPassTheirTestsAreAConsequenceOfTheLeanAndNoTarget) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 28);
  const Case c = examine(athlete, test::seen_lean(52));
  const Finding& arms = finding(c, "arms_overhead");
  EXPECT_EQ(arms.status(), FindingStatus::Conflict);
  EXPECT_THAT(arms.conflict, HasSubstr("comes with the lean"));
  for (const Factor part : target_parts(c.findings)) {
    EXPECT_NE(part, Factor::Shoulder);
    EXPECT_NE(part, Factor::Latissimus);
  }
}

TEST(FindFindings, AStiffShoulderIsNotCalledLatissimus) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::ShoulderFlexion, 150);
  const Case c = examine(athlete, test::seen_lean(35));
  EXPECT_EQ(finding(c, "arms_overhead").part, Factor::Shoulder);
}

TEST(FindFindings, ArmsThatNobodyTestedAreNoFinding) {
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::ShoulderFlexion] = {};
  athlete.tests[MobilityTest::ArmToWallTurnedOut] = {};
  athlete.setup.grip_width = 0.55;
  const Case c = examine(athlete, test::seen_lean(45));
  const Finding* arms = c.findings.find("arms_overhead");
  ASSERT_NE(arms, nullptr);
  EXPECT_EQ(arms->kind, FindingKind::Untested);
  for (const Factor part : target_parts(c.findings)) {
    EXPECT_NE(part, Factor::Shoulder);
    EXPECT_NE(part, Factor::Latissimus);
  }
}

TEST(FindFindings, ABarOnTheBackAsksNothingOfTheArms) {
  body::Athlete athlete = well_set_up();
  athlete.setup.bar_position = body::BarPosition::Back;
  test::set_test(athlete, MobilityTest::ShoulderFlexion, 140);
  const Case c = examine(athlete, test::seen_lean(35));
  EXPECT_EQ(c.findings.find("arms_overhead"), nullptr);
  EXPECT_EQ(c.findings.find("shoulder"), nullptr);
  EXPECT_EQ(c.findings.find("grip"), nullptr);
}

TEST(FindFindings, AStiffUpperBackIsJudgedByItsTestAndByTheModel) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::ThoracicExtension, 4);
  const Case c = examine(athlete, as_upright_as_possible(athlete));
  const Finding& thorax = finding(c, "thorax");
  EXPECT_EQ(thorax.kind, FindingKind::Range);
  EXPECT_TRUE(has_evidence(thorax, EvidenceSource::Test, Bearing::Supports));
  EXPECT_GT(thorax.probability, finding(c, "shoulder").probability);
}

TEST(FindFindings, TestsThatForbidThePostureSeenAreShownAsAConflict) {
  body::Athlete athlete = well_set_up();
  athlete.setup.heel_elevation = 0.0;
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 16);
  const Case c = examine(athlete, test::seen_lean(18));
  const Finding& conflict = finding(c, "tests_against_posture");
  EXPECT_EQ(conflict.status(), FindingStatus::Conflict);
  EXPECT_EQ(&conflict, &c.findings.all.front());
  EXPECT_THAT(conflict.conflict, HasSubstr("Both cannot be right"));
  const bool names_ankle =
      std::any_of(conflict.evidence.begin(), conflict.evidence.end(), [](const Evidence& e) {
        return e.test == MobilityTest::AnkleDorsiflexion && e.bearing == Bearing::Contradicts;
      });
  EXPECT_TRUE(names_ankle);
  // And nothing is built on the test that is in doubt.
  EXPECT_EQ(finding(c, "ankle").confidence, Confidence::Unlikely);
  EXPECT_THAT(finding(c, "ankle").sentence, HasSubstr("no finding before they are repeated"));
  for (const Factor part : target_parts(c.findings)) EXPECT_NE(part, Factor::Ankle);
  EXPECT_FALSE(conflict.part.has_value());
}

TEST(FindFindings, TestsThatExcludeTheDepthAreNamed) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::HipFlexion, 80);
  test::set_test(athlete, MobilityTest::LumbarFlexion, 2);
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 20);
  const Case c = examine(athlete, test::seen_lean(45));
  ASSERT_EQ(c.explained.outcome, posture::Outcome::Infeasible);
  const Finding& f = finding(c, "tests_exclude_posture");
  EXPECT_THAT(f.sentence, HasSubstr("Hip flexion without pelvic tilt; "));
  EXPECT_EQ(f.status(), FindingStatus::Conflict);
}

TEST(FindFindings, ANarrowStanceIsASetupFindingAndComesBeforeMobility) {
  body::Athlete athlete = well_set_up();
  athlete.setup.stance_width = 0.24;
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 30);
  const Case c = examine(athlete, as_upright_as_possible(athlete));
  const Finding& stance = finding(c, "stance");
  EXPECT_EQ(stance.kind, FindingKind::Setup);
  EXPECT_EQ(stance.confidence, Confidence::Clear);
  EXPECT_TRUE(has_evidence(stance, EvidenceSource::Setup, Bearing::Supports));
  const auto parts = target_parts(c.findings);
  ASSERT_GE(parts.size(), 2u);
  EXPECT_TRUE(is_lever(parts.front()));
  EXPECT_NE(std::find(parts.begin(), parts.end(), Factor::Ankle), parts.end());
}

TEST(FindFindings, EvidenceCarriesRepetitionsAndFrames) {
  body::Athlete athlete = well_set_up();
  test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 28);
  const Case c = examine(athlete, as_upright_as_possible(athlete), 100);
  std::vector<SeenRepetition> repetitions(2);
  repetitions[0] = {1, 88, test::degrees_of(40, 1.5), std::nullopt, std::nullopt};
  repetitions[1] = {3, 301, test::degrees_of(41, 1.5), std::nullopt, std::nullopt};
  const auto found =
      find_findings({c.athlete, c.seen, c.explained, repetitions, "assessment.json"}).value();
  const Finding& ankle = *found.find("ankle");
  std::vector<std::int64_t> frames;
  for (const Evidence& e : ankle.evidence) {
    if (e.repetition > 0) frames.push_back(e.frame);
    if (e.source == EvidenceSource::Video) {
      EXPECT_EQ(e.assessment, "assessment.json");
    } else if (e.source == EvidenceSource::Test) {
      EXPECT_TRUE(e.test && e.side && e.value && e.against);
    }
  }
  EXPECT_EQ(frames, (std::vector<std::int64_t>{88, 301}));
}

TEST(FindFindings, NeedsTheDraws) {
  SerialExecutor executor;
  ExplainOptions options;
  options.draws = 20;
  const body::Athlete athlete = test::ordinary_athlete();
  const Observation seen;
  const auto r = explain(athlete, seen, options, executor, {}).value();
  EXPECT_EQ(find_findings({athlete, seen, r, {}, ""}).error().code, ErrorCode::Invalid);
}

// ---- The practitioner's word --------------------------------------------------------------------

Overruling word(std::string id, Verdict verdict, int day, std::optional<double> size = {}) {
  return {std::move(id),         verdict,          size,
          "felt the end myself", "Eydis Brandvik", Date::create(2026, 11, day).value()};
}

class Overruled : public ::testing::Test {
 protected:
  void SetUp() override {
    body::Athlete athlete = well_set_up();
    test::set_test(athlete, MobilityTest::AnkleDorsiflexion, 28);
    athlete.tests[MobilityTest::HipFlexion] = {};
    case_ = examine(athlete, as_upright_as_possible(athlete));
  }
  Case case_;
};

TEST_F(Overruled, ARejectedFindingIsNoTargetAndStaysOnRecord) {
  Findings findings = case_.findings;
  const Finding before = *findings.find("ankle");
  const std::vector<Overruling> words = {word("ankle", Verdict::Rejected, 20)};
  overrule(findings, words);
  const Finding& after = *findings.find("ankle");
  EXPECT_EQ(after.status(), FindingStatus::Overruled);
  EXPECT_EQ(after.probability, before.probability);
  EXPECT_EQ(after.size->value, before.size->value);
  EXPECT_EQ(after.sentence, before.sentence);
  EXPECT_EQ(after.effective_probability(), 0.0);
  EXPECT_FALSE(after.effective_size().has_value());
  EXPECT_EQ(after.overruling->reason, "felt the end myself");
  const auto before_parts = target_parts(case_.findings);
  EXPECT_NE(std::find(before_parts.begin(), before_parts.end(), Factor::Ankle), before_parts.end());
  for (const Factor part : target_parts(findings)) EXPECT_NE(part, Factor::Ankle);
}

TEST_F(Overruled, AnAssertedFindingIsATargetOfTheGivenSizeEvenUntested) {
  Findings findings = case_.findings;
  ASSERT_EQ(findings.find("hip")->kind, FindingKind::Untested);
  const std::vector<Overruling> words = {word("hip", Verdict::Asserted, 20, 6.0 * kDegree)};
  overrule(findings, words);
  const auto targets = targets_from_findings(findings);
  const auto hip = std::find_if(targets.begin(), targets.end(),
                                [](const Target& t) { return t.part == Factor::Hip; });
  ASSERT_NE(hip, targets.end());
  EXPECT_EQ(hip->size.value, 6.0 * kDegree);
  EXPECT_EQ(hip->probability, 1.0);
}

TEST_F(Overruled, TheLastWordCountsWhateverTheOrderOfTheFile) {
  Findings findings = case_.findings;
  const std::vector<Overruling> words = {word("ankle", Verdict::Withdrawn, 24),
                                         word("ankle", Verdict::Rejected, 20)};
  overrule(findings, words);
  const Finding& ankle = *findings.find("ankle");
  EXPECT_NE(ankle.status(), FindingStatus::Overruled);
  EXPECT_EQ(ankle.effective_probability(), ankle.probability);
  ASSERT_EQ(ankle.earlier_overrulings.size(), 2u);
  EXPECT_EQ(ankle.earlier_overrulings[0].verdict, Verdict::Rejected);
}

TEST_F(Overruled, AWordOnAFindingThatIsGoneIsKept) {
  Findings findings = case_.findings;
  const std::vector<Overruling> words = {word("tests_against_posture", Verdict::Rejected, 20)};
  overrule(findings, words);
  ASSERT_EQ(findings.unmatched.size(), 1u);
  EXPECT_EQ(findings.unmatched.front().who, "Eydis Brandvik");
}

TEST(FindingIds, AreAllDifferentAndHoldEveryFindingThatIsMade) {
  auto ids = finding_ids();
  std::sort(ids.begin(), ids.end());
  EXPECT_EQ(std::adjacent_find(ids.begin(), ids.end()), ids.end());
  body::Athlete athlete = well_set_up();
  athlete.tests[MobilityTest::AnkleDorsiflexion] = {test::degrees_of(44), test::degrees_of(30)};
  for (const Finding& f : examine(athlete, test::seen_lean(50), 60).findings.all) {
    EXPECT_TRUE(std::binary_search(ids.begin(), ids.end(), f.id)) << f.id;
  }
}

// ---- Words --------------------------------------------------------------------------------------

TEST(Confidence, HasOneScaleThatIsExplainedWithItsNumbers) {
  EXPECT_EQ(confidence_of(0.80), Confidence::Clear);
  EXPECT_EQ(confidence_of(0.79), Confidence::Likely);
  EXPECT_EQ(confidence_of(0.50), Confidence::Likely);
  EXPECT_EQ(confidence_of(0.49), Confidence::Possible);
  EXPECT_EQ(confidence_of(0.20), Confidence::Possible);
  EXPECT_EQ(confidence_of(0.19), Confidence::Unlikely);
  for (const double p : {0.9, 0.6, 0.3, 0.1}) {
    EXPECT_THAT(confidence_explanation(),
                HasSubstr(std::string(confidence_word(confidence_of(p)))));
  }
  for (const char* number : {"80 %", "50 %", "20 %"}) {
    EXPECT_THAT(confidence_explanation(), HasSubstr(number));
  }
}

TEST(ReadTests, ConvertsEachResultAndHoldsItAgainstTheReference) {
  body::Athlete athlete = test::ordinary_athlete();
  athlete.tests = {};
  athlete.tests[MobilityTest::KneeToWall] = {Estimate{0.103, 0}, Estimate{0.06, 0}};
  athlete.tests[MobilityTest::ArmToWallTurnedOut] = {test::degrees_of(12), std::nullopt};
  const auto lengths = posture::body_parameters(athlete)->lengths;
  const auto readings = read_tests(athlete, lengths).value();
  ASSERT_EQ(readings.size(), 3u);
  EXPECT_EQ(readings[0].side, Side::Left);
  // The line is the usual distance itself (Hall & Docherty 2017: 10.3 cm), through the same foot.
  EXPECT_NEAR(readings[0].pass_line_entered, 0.103, 1e-6);
  EXPECT_TRUE(readings[0].passes);
  EXPECT_FALSE(readings[1].passes);
  EXPECT_NEAR(readings[2].range.value, (180.0 - 12.0) * kDegree, 1e-9);
  EXPECT_FALSE(readings[2].passes);
  for (const TestOfLimit& t : tests_of_limits()) {
    const double edge = posture::reference_limits(0.26)[t.limit].edge;
    const double result = result_of_range(t, edge, lengths);
    const auto back = range_of_result(athlete, t, {result, 0.0}, lengths).value();
    EXPECT_NEAR(back.value, edge, 1e-6) << body::mobility_test_name(t.test);
    EXPECT_GT(back.standard_error, 0.0);
  }
}

}  // namespace
}  // namespace lintel::reasoning
