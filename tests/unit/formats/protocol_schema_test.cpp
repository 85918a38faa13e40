// Every protocol of data/protocols against its schema, and schema against reader.
#include <filesystem>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "body/tables.h"
#include "formats/protocol_json.h"
#include "formats/test_record_json.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using test_support::read_json_file;
using test_support::read_schema;
using test_support::schema_complaints;

std::vector<fs::path> protocol_files() {
  return test_support::json_files("data/protocols");
}

TEST(ProtocolSchema, EveryProtocolHasSourcesCautionsAndADrawing) {
  const json schema = read_schema("protocol.schema.json");
  const auto files = protocol_files();
  EXPECT_EQ(files.size(), built_in_protocols().size());
  for (const fs::path& file : files) {
    const json document = read_json_file(file.string());
    EXPECT_EQ(schema_complaints(schema, document), "") << file.filename();
    const auto reading = read_protocol_json(document.dump(), file.filename().string());
    EXPECT_TRUE(reading.protocol) << (reading.faults.empty() ? "" : describe(reading.faults[0]));
  }
}

// Damage that both must refuse: the schema enforces what the reader enforces.
TEST(ProtocolSchema, RefusesWhatTheReaderRefuses) {
  const json schema = read_schema("protocol.schema.json");
  const json good = read_json_file(protocol_files().front().string());
  const auto refused = [&](json bad) {
    EXPECT_NE(schema_complaints(schema, bad), "") << bad.dump().substr(0, 200);
    EXPECT_FALSE(read_protocol_json(bad.dump(), "bad.json").protocol) << bad.dump().substr(0, 200);
  };
  for (const char* key : {"schema", "id", "name", "purpose", "position", "steps", "unit", "sides",
                          "better", "tries", "minutes", "allowed_range", "norms", "standard_error",
                          "informs", "cautions", "not_with", "drawing"}) {
    json bad = good;
    bad.erase(key);
    refused(bad);
  }
  json bad = good;
  bad["cautions"] = json::array();
  refused(bad);
  bad = good;
  bad["standard_error"]["source"] = "a colleague said so";
  refused(bad);
  bad = good;
  bad["norms"] = json::array();
  bad.erase("norms_note");
  refused(bad);
  bad = good;
  bad["drawing"]["panels"] = json::array();
  refused(bad);
  bad = good;
  bad["invented"] = 1;
  refused(bad);
  bad = good;
  bad["not_with"] = {"hiccups"};
  refused(bad);
  bad = good;
  bad["id"] = "Knee To Wall";
  refused(bad);
}

TEST(ProtocolSchema, TakesWhatTheWriterWrites) {
  const json schema = read_schema("protocol.schema.json");
  for (const body::TestProtocol& protocol : built_in_protocols()) {
    const std::string text = write_protocol_json(protocol);
    EXPECT_EQ(schema_complaints(schema, json::parse(text)), "") << protocol.id;
    const auto again = read_protocol_json(text, "again.json");
    ASSERT_TRUE(again.protocol) << describe(again.faults[0]);
    EXPECT_EQ(write_protocol_json(*again.protocol), text) << protocol.id;
  }
}

TEST(TestRecordSchema, TakesWhatTheWriterWrites) {
  const json schema = read_schema("tests.schema.json");
  body::TestRecord record;
  record.athlete_id = "skarnholm-03";
  record.date = *Date::parse("2026-11-25");
  record.hand_breadth = Estimate{0.084, 0.002};
  record.results.push_back({"knee_to_wall_distance",
                            body::TestSide::Left,
                            {0.095, 0.10, 0.105},
                            {},
                            {},
                            "tape",
                            {},
                            ""});
  record.results.push_back({"arms_to_wall_turned_out",
                            body::TestSide::Right,
                            {},
                            body::Reached::No,
                            {},
                            "",
                            {},
                            "elbow stayed straight"});
  body::TestEntry photo{"hip_flexion_supine", body::TestSide::Left, {2.0}, {}, 0.09, "", {}, ""};
  photo.photo = body::PhotoProvenance{"left.jpg", std::string(64, 'a'), "full", {"hip"}};
  record.results.push_back(photo);
  record.standard_errors.push_back({"knee_to_wall_distance", {0.004, 3, 0.5, "own, 2026"}});
  const std::string text = write_test_record_json(record, built_in_protocols());
  EXPECT_EQ(schema_complaints(schema, json::parse(text)), "");
  const auto again = read_test_record_json(text, "again.json", built_in_protocols());
  ASSERT_TRUE(again.record) << describe(again.faults[0]);
  EXPECT_EQ(write_test_record_json(*again.record, built_in_protocols()), text);
}

}  // namespace
}  // namespace lintel::formats
