#include "demo_visit.h"

#include <array>

namespace lintel::test_support {
namespace {

using reasoning::Factor;

constexpr double kDegree = kRadiansPerDegree;

Date day(int y, int m, int d) {
  return *Date::create(y, m, d);
}

struct DrillSeed {
  const char* id;
  const char* name;
  Factor part;
  bool loaded;
};
constexpr std::array<DrillSeed, 12> kDrills = {{
    {"knee-over-toe-rock", "Knee rocks to the wall", Factor::Ankle, false},
    {"seated-half-unloaded-hold", "Seated half-unloaded bottom hold", Factor::Habit, false},
    {"tempo-squat-bar", "Slow squat under the bar", Factor::Habit, true},
    {"heel-sit-turn", "Heel-sit turn with the hand behind the back", Factor::Thorax, false},
    {"lat-stretch-bench", "Kneeling stretch with elbows on the bench", Factor::Latissimus, false},
    {"overhead-push", "Active push overhead without moving the arms", Factor::Shoulder, false},
    {"pause-squat-bar", "Paused squat under the bar", Factor::Habit, true},
    {"wall-squat", "Squat facing the wall", Factor::Habit, false},
    {"calf-stretch", "Calf stretch at the wall", Factor::Ankle, false},
    {"hip-rock", "Rocking on hands and knees", Factor::Hip, false},
    {"wide-grip", "Pass-through with a wider grip", Factor::Grip, false},
    {"roller", "Upper back over the roller", Factor::Thorax, false},
}};

const std::string kFiller =
    " and so on, with a remark that goes on far longer than anybody would read in a gym, about the "
    "floor, the light, the shoes and what was said about all of it";

plan::Drill library_drill(const DrillSeed& seed, bool long_texts) {
  plan::Drill drill;
  drill.id = seed.id;
  drill.name = seed.name;
  drill.purpose = "More room for a tall trunk.";
  drill.targets.push_back({seed.part, {0.01, 0.005, 600, 6, "common practice, no source", false}});
  drill.mode = seed.loaded ? plan::Mode::LoadedRange : plan::Mode::Mobilisation;
  drill.position = "Stand half a foot's length from a wall, toes straight ahead.";
  drill.steps = {"Let the knee travel over the toes until it touches.",
                 "Stay for two breaths with the heel on the floor.", "Come back slowly."};
  drill.cues = {"heel heavy", "knee past the toes"};
  drill.ladder.push_back({"hand's breadth", "Big toe a hand's breadth from the wall.",
                          "move closer", "move away by a finger's width",
                          "The knee touches in every repetition", 3, 7, seed.loaded});
  drill.loaded = seed.loaded;
  drill.cautions = {"No pinching at the front of the ankle."};
  drill.source = "common practice, no source";
  drill.drawing = demo_sketch();
  if (long_texts) {
    for (int i = 0; i < 12; ++i) drill.steps.push_back("Do this as well" + kFiller + kFiller + ".");
    drill.cautions.push_back("Mind" + kFiller + kFiller + ".");
    drill.name += kFiller;
  }
  return drill;
}

plan::PlannedDrill planned_drill(const plan::Drill& drill, Factor part) {
  plan::PlannedDrill planned;
  planned.id = drill.id;
  planned.name = drill.name;
  planned.part = part;
  planned.dose = {3, 8, 2, 5, 240};
  planned.step_name = drill.ladder[0].name;
  planned.step_how = drill.ladder[0].how;
  planned.move_on = drill.ladder[0].move_on;
  planned.loaded = drill.loaded;
  planned.reason = "Trains the part that explains most of the lean.";
  planned.cues = drill.cues;
  planned.cautions = drill.cautions;
  planned.source = drill.source;
  return planned;
}

void fill_schedule(plan::Plan& plan) {
  for (int number = 1; number <= plan.weeks; ++number) {
    plan::PlannedWeek week;
    week.number = number;
    week.start = plan.from + 7 * (number - 1);
    week.deload = number % 4 == 0;
    for (const int weekday : {0, 1, 2, 4, 5}) {
      plan::PlannedSession session;
      session.day = weekday;
      for (std::size_t d = 0; d < plan.drills.size(); ++d) {
        if (d > 0 && (static_cast<std::size_t>(weekday) + d) % 3 == 0) continue;
        session.items.push_back({d, week.deload ? 2 : 3, week.deload ? 180.0 : 240.0});
        session.time += session.items.back().time;
      }
      week.sessions.push_back(session);
    }
    plan.schedule.push_back(week);
  }
}

plan::SeatedHoldPlan seated_hold() {
  plan::SeatedHoldPlan hold;
  hold.now.surface_height = 0.46;
  hold.now.on_surface = 34;
  for (int week = 1; week <= 8; ++week) {
    hold.ladder.push_back(
        {week, 0.46 - 0.02 * (week - 1), 0.0, 30 * kDegree, 34.0 - week * 0.2, 34.0 + week * 0.2});
  }
  return hold;
}

plan::Plan make_plan(const DemoVisitOptions& options, const std::vector<plan::Drill>& library) {
  plan::Plan plan;
  plan.athlete_id = "runa";
  plan.athlete_name = "Runa Fjellgard";
  plan.from = day(2026, 11, 30);
  plan.weeks = 8;
  plan.warning_signs = options.warning_signs;
  const plan::Triage triage = plan::triage(options.warning_signs);
  plan.clearance = triage.clearance;
  plan.referral = plan::referral_text(triage);
  plan.setup_changes.push_back({Factor::Heel,
                                0.0,
                                0.015,
                                {4 * kDegree, 1 * kDegree},
                                "Heels up by 1.5 cm: about 4° more upright."});
  plan.goals.push_back({"trunk_inclination", "trunk inclination at the bottom", 38 * kDegree,
                        31 * kDegree, day(2027, 1, 24), 0.71,
                        "From published gains of calf work and the share of the ankle."});
  plan.goals.push_back({"ankle", "ankle range", 33 * kDegree, 36 * kDegree, day(2027, 1, 24), 0.58,
                        "Medeiros et al. 2018."});
  for (std::size_t i = 0; i < library.size(); ++i) {
    // As a careless caller might do it: loaded drills are in it whatever the signs.
    plan.drills.push_back(planned_drill(library[i], kDrills[i].part));
  }
  fill_schedule(plan);
  plan.retests.push_back({"knee_to_wall_distance", "knee to the wall", day(2027, 1, 11), 3, true,
                          true, 0.02, 0.016, "The expected gain exceeds what the test can show."});
  plan.retests.push_back({"clip", "film the squat again", day(2027, 1, 25), 3, false, false,
                          3 * kDegree, 4 * kDegree, "Not before the end of the plan."});
  plan.stop_rules = {"There is sharp pain, numbness or dizziness.",
                     "A heel lifts that a cue does not bring down.", "The low back rounds."};
  plan.notes = {"Static stretching needs five days a week."};
  plan.seated_hold = seated_hold();
  return plan;
}

void fill_tests(DemoVisit& v) {
  body::TestProtocol knee;
  knee.id = "knee_to_wall_distance";
  knee.name = "Knee to the wall";
  knee.unit = body::ProtocolUnit::Centimetres;
  knee.pass_line = {body::PassReference::HandBreadth, 1, "one hand's breadth",
                    "common practice, no source"};
  body::TestProtocol turn;
  turn.id = "thoracic_rotation";
  turn.name = "Turn of the upper back, sitting on the heels";
  turn.unit = body::ProtocolUnit::Degrees;
  v.protocols = {knee, turn};
  v.record.athlete_id = "runa";
  v.record.results = {
      {"knee_to_wall_distance", body::TestSide::Left, {0.071, 0.068, 0.074}, {}, {}, "", {}, ""},
      {"knee_to_wall_distance", body::TestSide::Right, {0.102, 0.098}, {}, {}, "", {}, ""},
      {"thoracic_rotation", body::TestSide::Left, {48 * kDegree}, {}, {}, "", {}, ""}};
  const auto result = [&](std::size_t protocol, std::size_t entry, Estimate value, double sd,
                          std::optional<body::PassCheck> pass) {
    body::TestOutcome outcome;
    outcome.protocol = &v.protocols[protocol];
    outcome.entry = &v.record.results[entry];
    outcome.result = value;
    outcome.standard_deviation = sd;
    outcome.pass = pass;
    v.tests.results.push_back(outcome);
  };
  result(0, 0, {0.071, 0.008}, 0.003, body::PassCheck{{0.08, 0.004}, false, 0.14, true});
  result(0, 1, {0.100, 0.008}, 0.003, body::PassCheck{{0.08, 0.004}, true, 0.98, false});
  result(1, 2, {48 * kDegree, 3 * kDegree}, 0, {});
  v.tests.sides.push_back({&v.protocols[0], {-0.029, 0.011}, 0.022, true, true});
  v.tests.remarks = {"Distance and angle of the ankle are kept apart."};
}

void fill_findings(DemoVisit& v, bool long_texts) {
  reasoning::Finding ankle;
  ankle.id = "ankle";
  ankle.kind = reasoning::FindingKind::Range;
  ankle.part = Factor::Ankle;
  ankle.side = body::Side::Left;
  ankle.size = reasoning::Size{8.4 * kDegree, 5 * kDegree, 12 * kDegree};
  ankle.probability = 0.93;
  ankle.probability_largest = 0.74;
  ankle.confidence = reasoning::Confidence::Clear;
  ankle.title = "Ankle range, left";
  ankle.sentence = "The left ankle costs about 8° of lean.";
  ankle.evidence.push_back(
      {reasoning::EvidenceSource::Test, reasoning::Bearing::Supports, "knee_to_wall",
       "Knee to the wall 7.1 ± 0.8 cm, below the line of 8 cm.", reasoning::Quantity::Length,
       Estimate{0.071, 0.008}, 0.08, body::MobilityTest::KneeToWall, body::Side::Left, "", 0, -1});
  ankle.evidence.push_back({reasoning::EvidenceSource::Video,
                            reasoning::Bearing::Contradicts,
                            "shank_inclination",
                            "The shank reaches 31° in the squat.",
                            reasoning::Quantity::Angle,
                            Estimate{31 * kDegree, 1 * kDegree},
                            {},
                            {},
                            {},
                            "squat-1",
                            2,
                            184});
  ankle.conflict = "Video and test disagree by 3°: repeat the test with three tries.";
  reasoning::Finding habit;
  habit.id = "habit";
  habit.kind = reasoning::FindingKind::Habit;
  habit.part = Factor::Habit;
  habit.size = reasoning::Size{3 * kDegree, -1 * kDegree, 7 * kDegree};
  habit.probability = 0.55;
  habit.confidence = reasoning::Confidence::Possible;
  habit.title = "Habit";
  habit.sentence = "Some of the lean is not forced by the body.";
  habit.overruling = reasoning::Overruling{"habit",
                                           reasoning::Verdict::Rejected,
                                           {},
                                           "She was asked to keep the bar low that day.",
                                           "I. Strandvik",
                                           day(2026, 11, 26)};
  if (long_texts) {
    for (int i = 0; i < 30; ++i) habit.overruling->reason += kFiller;
    ankle.sentence += kFiller;
  }
  v.findings.all = {ankle, habit};
}

}  // namespace

Sketch demo_sketch() {
  SketchPanel stand;
  stand.caption = "start";
  SketchFigure figure;
  figure.upper_arm = {175 * kDegree, 175 * kDegree};
  figure.forearm = {172 * kDegree, 172 * kDegree};
  figure.thigh = {180 * kDegree, 180 * kDegree};
  figure.shank = {180 * kDegree, 180 * kDegree};
  stand.figures.push_back(figure);
  SketchProp floor;
  stand.props.push_back(floor);
  SketchPanel squat = stand;
  squat.caption = "bottom, arms long";
  SketchFigure& f = squat.figures[0];
  f.trunk = 32 * kDegree;
  f.head = 18 * kDegree;
  f.upper_arm = {0, 0};
  f.forearm = {0, 0};
  f.thigh = {95 * kDegree, 95 * kDegree};
  f.shank = {212 * kDegree, 212 * kDegree};
  SketchProp pipe;
  pipe.kind = SketchPropKind::Pipe;
  pipe.at.joint = SketchJoint::Hand;
  squat.props.push_back(pipe);
  SketchMark angle;
  angle.kind = SketchMarkKind::Angle;
  angle.at.joint = SketchJoint::Pelvis;
  angle.to_angle = 32 * kDegree;
  angle.radius = 0.3;
  angle.label = "32°";
  squat.marks.push_back(angle);
  return {{stand, squat}};
}

std::unique_ptr<DemoVisit> demo_visit(const DemoVisitOptions& options) {
  auto v = std::make_unique<DemoVisit>();
  v->athlete.id = "runa";
  v->athlete.name = "Runa Fjellgard";
  v->athlete.stature = 1.71;
  v->athlete.body_mass = 68;
  v->athlete.warning_signs = options.warning_signs;
  for (std::size_t i = 0; i < static_cast<std::size_t>(options.drills); ++i) {
    v->library.push_back(library_drill(kDrills[i], options.long_texts));
  }
  v->plan = make_plan(options, v->library);
  fill_tests(*v);
  fill_findings(*v, options.long_texts);
  v->loads.allowed = true;
  v->loads.why = "Position held for two weeks.";
  v->loads.reference = plan::Lift::Snatch;
  v->loads.reference_mass = 62;
  v->loads.weeks = {{1, plan::LoadStage::Pipe, 0, {}, 3, 5, false},
                    {2, plan::LoadStage::EmptyBar, 20, {}, 3, 5, false}};
  v->loads.source = "common practice, no source";
  v->measurement = demo_measurement({});
  v->assessment = demo_assessment(v->measurement);
  view::Visit& visit = v->visit;
  visit.program_version = "0.1.0";
  visit.issued_on = "2026-11-26";
  visit.practitioner = "I. Strandvik, physiotherapist";
  visit.intake = {"Goal: snatch with an upright trunk.", "Trains four times a week, two years."};
  visit.athlete = &v->athlete;
  visit.assessment = &v->assessment;
  visit.tests = &v->tests;
  visit.tests_on = "2026-11-25";
  visit.findings = &v->findings;
  visit.plan = &v->plan;
  visit.library = v->library;
  visit.loads = &v->loads;
  if (options.long_texts) {
    v->plan.athlete_name =
        "Maximiliana Thorgerdsdottir-Skallagrimsson von Aunderhavn zu Skarnholm und Nebelkliff";
    v->athlete.name = v->plan.athlete_name;
    for (auto& goal : v->plan.goals) goal.measure += kFiller;
    for (auto& rule : v->plan.stop_rules) rule += kFiller;
    visit.practitioner += kFiller;
  }
  return v;
}

}  // namespace lintel::test_support
