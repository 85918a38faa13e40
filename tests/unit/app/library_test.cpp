// Own protocols, drills and standard errors in the parts that take them up.
#include <gtest/gtest.h>

#include "app/library.h"
#include "body/test_outcome.h"
#include "formats/drill_json.h"
#include "formats/protocol_json.h"
#include "support/own_library.h"

namespace lintel::app {
namespace {

body::TestProtocol own_lunge() {
  nlohmann::json own = test::data_file("protocols/knee-to-wall-distance.json");
  own["id"] = "quay_lunge";
  own["name"] = "Knee to the bollard";
  auto reading = formats::read_protocol_json(own.dump(), "");
  if (!reading.protocol) throw std::runtime_error(describe(reading.faults.front()));
  reading.protocol->built_in = false;
  return *reading.protocol;
}

body::TestRecord record_by(const std::string& protocol) {
  body::TestRecord record;
  body::TestEntry entry;
  entry.protocol = protocol;
  entry.side = body::TestSide::Left;
  entry.tries = {0.07};
  record.results = {entry};
  return record;
}

TEST(ProtocolFor, PassesOverAnArchivedOne) {
  std::vector<body::TestProtocol> protocols = {own_lunge()};
  const auto found = [&] { return body::protocol_for(protocols, body::MobilityTest::KneeToWall); };
  EXPECT_NE(found(), nullptr);
  protocols[0].archived = true;
  EXPECT_EQ(found(), nullptr);
  EXPECT_NE(body::find_protocol(protocols, "quay_lunge"), nullptr);
}

TEST(DrillsInUse, AreThoseThatAreNotArchived) {
  std::vector<plan::Drill> drills = formats::built_in_drills();
  EXPECT_EQ(plan::drills_in_use(drills).size(), drills.size());
  drills[1].archived = true;
  const auto left = plan::drills_in_use(drills);
  EXPECT_EQ(left.size() + 1, drills.size());
  EXPECT_EQ(plan::find_drill(left, drills[1].id), nullptr);
  EXPECT_NE(plan::find_drill(drills, drills[1].id), nullptr);
}

TEST(WorkplaceError, StandsInForThePublishedOneAndTheTestersOwnBeforeIt) {
  std::vector<body::TestProtocol> protocols = {own_lunge()};
  protocols[0].standard_error = {0.004, 1, 0.5, "own repeats, 2026"};
  protocols[0].own_error = true;
  body::Athlete athlete;
  athlete.id = "ansa";
  athlete.stature = 1.7;
  body::TestRecord record = record_by("quay_lunge");
  record.athlete_id = "ansa";
  auto outcome = body::evaluate_record(record, protocols, athlete);
  ASSERT_TRUE(outcome) << outcome.error();
  EXPECT_TRUE(outcome->results[0].own_error);
  EXPECT_NEAR(outcome->results[0].result.standard_error, 0.004, 1e-12);
  record.standard_errors = {{"quay_lunge", {0.002, 1, 0.5, "Runa, 2026"}}};
  outcome = body::evaluate_record(record, protocols, athlete);
  ASSERT_TRUE(outcome);
  EXPECT_NEAR(outcome->results[0].result.standard_error, 0.002, 1e-12);
}

TEST(BuiltInLibrary, HasNoErrorsOfItsOwn) {
  const SharedLibrary library = built_in_library();
  EXPECT_EQ(library->protocols.size(), formats::built_in_protocols().size());
  EXPECT_TRUE(library->published_errors.empty());
  const body::TestProtocol& any = library->protocols.front();
  EXPECT_EQ(library->published_error(any).value, any.standard_error.value);
}

}  // namespace
}  // namespace lintel::app
