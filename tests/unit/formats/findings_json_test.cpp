#include "formats/findings_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/cautions.h"
#include "support/reasoning_athletes.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using nlohmann::json;

struct Written {
  reasoning::Findings findings;
  json document;
};

Written write(const body::Athlete& athlete, const reasoning::Observation& seen,
              const std::vector<reasoning::Overruling>& words = {}) {
  SerialExecutor executor;
  reasoning::ExplainOptions options;
  options.draws = 150;
  options.samples = reasoning::Samples::Kept;
  const auto r = reasoning::explain(athlete, seen, options, executor, {}).value();
  std::vector<reasoning::SeenRepetition> repetitions(1);
  repetitions[0] = {2, 90, seen.trunk_inclination, std::nullopt, std::nullopt};
  Written out{reasoning::find_findings({athlete, seen, r, repetitions, "assessment.json"}).value(),
              {}};
  reasoning::overrule(out.findings, words);
  const auto setups = reasoning::find_setups_to_film(r).value();
  const auto tests = reasoning::choose_test({athlete, r, {}}).value();
  const auto targets = reasoning::targets_from_findings(out.findings);
  const std::vector<std::string> remarks = {"a remark"};
  out.document = json::parse(write_findings_json(
      {athlete.id, "assessment.json", out.findings, setups, tests, targets, remarks}));
  return out;
}

json finding_of(const json& document, const std::string& id) {
  for (const json& f : document["findings"]) {
    if (f["id"] == id) return f;
  }
  return nullptr;
}

class FindingsJson : public ::testing::Test {
 protected:
  FindingsJson() {
    athlete_.tests[body::MobilityTest::AnkleDorsiflexion] = {test::degrees_of(44),
                                                             test::degrees_of(30)};
    athlete_.setup.stance_width = 0.28;
  }
  body::Athlete athlete_ = test::ordinary_athlete();
  json schema_ = test_support::read_schema("findings.schema.json");
};

TEST_F(FindingsJson, KeepsToItsSchema) {
  EXPECT_EQ(test_support::schema_complaints(schema_, write(athlete_, test::seen_lean(45)).document),
            "");
  body::Athlete bare = athlete_;
  bare.tests = {};
  EXPECT_EQ(test_support::schema_complaints(schema_, write(bare, test::seen_lean(45)).document),
            "");
  bare.tests = {};
  bare.tests[body::MobilityTest::AnkleDorsiflexion] = {test::degrees_of(15), test::degrees_of(15)};
  EXPECT_EQ(test_support::schema_complaints(schema_, write(bare, test::seen_lean(15)).document),
            "");
}

TEST_F(FindingsJson, TheSchemaRefusesWhatLacksAReasonAnEvidenceOrACaution) {
  const json good = write(athlete_, test::seen_lean(45)).document;
  for (const char* key : {"findings", "next_tests", "targets", "how_sure", "cautions"}) {
    json bad = good;
    bad.erase(key);
    EXPECT_NE(test_support::schema_complaints(schema_, bad), "") << key;
  }
  json bad = good;
  bad["cautions"].erase(0);
  EXPECT_NE(test_support::schema_complaints(schema_, bad), "");
  bad = good;
  bad["findings"][0].erase("evidence");
  EXPECT_NE(test_support::schema_complaints(schema_, bad), "");
  bad = good;
  bad["findings"][0]["probability"] = 1.2;
  EXPECT_NE(test_support::schema_complaints(schema_, bad), "");
}

TEST_F(FindingsJson, NumbersAreThoseOfTheFindingsInTheirUnits) {
  const Written w = write(athlete_, test::seen_lean(45));
  const json ankle = finding_of(w.document, "ankle");
  const reasoning::Finding& f = *w.findings.find("ankle");
  EXPECT_NEAR(ankle["size_95_deg"]["value"].get<double>(), f.size->value * kDegreesPerRadian, 1e-4);
  EXPECT_NEAR(ankle["probability"].get<double>(), f.probability, 1e-6);
  const json side = finding_of(w.document, "ankle_side.ankle_dorsiflexion");
  EXPECT_EQ(side["side"], "right");
  EXPECT_NEAR(side["size_95_deg"]["value"].get<double>(), 14.0, 1e-4);
  int frames = 0;
  for (const json& e : ankle["evidence"]) {
    EXPECT_TRUE(e["source"] != "test" || e.contains("value_deg"));
    if (!e["frame"].is_null()) {
      ++frames;
      EXPECT_EQ(e["frame"], 90);
      EXPECT_EQ(e["repetition"], 2);
    }
  }
  EXPECT_EQ(frames, 1);
  EXPECT_EQ(w.document["cautions"].size(), cautions().size());
}

TEST_F(FindingsJson, BothTheFindingAndTheWordStayOnRecord) {
  const reasoning::Overruling word{"ankle",          reasoning::Verdict::Rejected,
                                   std::nullopt,     "full range on the table",
                                   "Eydis Brandvik", Date::create(2026, 11, 25).value()};
  const json before = finding_of(write(athlete_, test::seen_lean(45)).document, "ankle");
  const json document = write(athlete_, test::seen_lean(45), {word}).document;
  const json after = finding_of(document, "ankle");
  EXPECT_EQ(test_support::schema_complaints(schema_, document), "");
  EXPECT_EQ(after["size_95_deg"], before["size_95_deg"]);
  EXPECT_EQ(after["probability"], before["probability"]);
  EXPECT_EQ(after["status"], "overruled");
  EXPECT_EQ(after["overruling"]["reason"], "full range on the table");
  EXPECT_EQ(after["counts_as"]["probability"], 0.0);
  for (const json& t : document["targets"]) EXPECT_NE(t["part"], "ankle");
}

}  // namespace
}  // namespace lintel::formats
