#include "formats/library_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

#include "formats/drill_json.h"
#include "formats/export_json.h"
#include "formats/protocol_json.h"
#include "support/own_library.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using nlohmann::json;
using ::testing::HasSubstr;

const body::TestProtocol& lunge() {
  return *body::find_protocol(built_in_protocols(), "knee_to_wall_distance");
}

std::set<std::string> fields_of(const std::vector<Error>& faults) {
  std::set<std::string> out;
  for (const Error& fault : faults) out.insert(fault.place.field);
  return out;
}

StandardErrorReading read(json document) {
  document["schema"] = "lintel-standard-error-1";
  return read_standard_error_json(document.dump(), "", lunge());
}
json good() {
  return {{"protocol", "knee_to_wall_distance"},
          {"unit", "cm"},
          {"value", 0.8},
          {"tries", 3},
          {"share_between_tries", 0.25},
          {"source", "12 people twice, 2026"}};
}

TEST(StandardErrorJson, IsInTheUnitOfTheProtocolAndComesBack) {
  const auto reading = read(good());
  ASSERT_TRUE(reading.error) << reading.faults.front();
  EXPECT_NEAR(reading.error->value, 0.008, 1e-12);  // [m]
  EXPECT_EQ(reading.error->tries, 3);
  EXPECT_EQ(reading.error->share_between_tries, 0.25);
  const std::string text = write_standard_error_json(lunge(), *reading.error);
  const auto again = read_standard_error_json(text, "", lunge());
  ASSERT_TRUE(again.error);
  EXPECT_EQ(write_standard_error_json(lunge(), *again.error), text);
  EXPECT_EQ(json::parse(protocol_error_json(*again.error, lunge().unit))["value"], 0.8);
  const json own = json::parse(own_error_json(*again.error, lunge().unit, {3, "then", "runa"}));
  EXPECT_EQ(own["version"], 3);
  EXPECT_EQ(own["changed_by"], "runa");
}

TEST(StandardErrorJson, TellsEveryFault) {
  json bad = good();
  bad["protocol"] = "hip_flexion_supine";
  bad["unit"] = "deg";
  bad["value"] = 0;
  bad["tries"] = 2.5;
  bad["source"] = "felt like it";
  bad["sigma"] = 1;
  const auto reading = read(bad);
  EXPECT_FALSE(reading.error);
  EXPECT_EQ(fields_of(reading.faults),
            (std::set<std::string>{"protocol", "unit", "value", "tries", "source", "sigma"}));
  json wide = good();
  wide["value"] = 500;  // wider than any result may differ
  EXPECT_EQ(fields_of(read(wide).faults), std::set<std::string>{"value"});
  for (const std::string& text : {std::string("["), std::string(40'000, ' '), std::string("7")}) {
    EXPECT_FALSE(read_standard_error_json(text, "", lunge()).faults.empty());
  }
}

// The editor draws while other fields are still at fault.
TEST(DrawingBesideFaults, IsReadAsLongAsItHasNoneOfItsOwn) {
  json protocol = test::own_protocol();
  protocol["tries"] = "three";
  protocol.erase("position");
  const auto reading = read_protocol_json(protocol.dump(), "");
  EXPECT_FALSE(reading.protocol);
  EXPECT_EQ(reading.faults.size(), 2u);
  EXPECT_EQ(reading.name, "Ankle on the quay");
  ASSERT_TRUE(reading.drawing);
  EXPECT_FALSE(reading.drawing->empty());
  protocol["drawing"]["panels"][0]["marks"] = 7;
  EXPECT_FALSE(read_protocol_json(protocol.dump(), "").drawing);

  json drill = test::own_drill();
  drill["mode"] = "magic";
  EXPECT_TRUE(read_drill_json(drill.dump(), "").drawing);
  drill.erase("drawing");
  const auto undrawn = read_drill_json(drill.dump(), "");
  EXPECT_FALSE(undrawn.drawing);
  EXPECT_EQ(fields_of(undrawn.faults), (std::set<std::string>{"drawing", "mode"}));
}

TEST(ControlCharacters, AreNoPartOfAProtocolOrDrill) {
  json protocol = test::own_protocol();
  protocol["norms"] = json::array(
      {{{"population", "divers\x07"}, {"mean", 40}, {"source", "common practice, no source"}}});
  const auto reading = read_protocol_json(protocol.dump(), "");
  EXPECT_EQ(fields_of(reading.faults), std::set<std::string>{"norms[0].population"});
  json drill = test::own_drill();
  drill["steps"][1] = "up\nand\tdown";  // these two are text
  EXPECT_TRUE(read_drill_json(drill.dump(), "").drill);
  drill["steps"][1] = std::string("up\0down", 7);
  EXPECT_EQ(fields_of(read_drill_json(drill.dump(), "").faults), std::set<std::string>{"steps[1]"});
}

// ---- In an export

view::ExportManifest manifest() {
  view::ExportManifest out;
  out.exported_at = "2026-03-09T07:05:30.123Z";
  out.program_version = "0.1.0";
  out.athlete = "2ed6657d-e927-568b-95e1-2665a8aea6a2";
  view::ExportRecord athlete;
  athlete.id = out.athlete;
  athlete.kind = "athlete";
  athlete.created_at = out.exported_at;
  athlete.created_by = "runa";
  athlete.versions = {{1, "active", out.exported_at, "runa", "", std::string(64, 'a')}};
  athlete.columns.athlete = {
      {std::string("Ansa Brinvik"), std::string(), std::string("female"), std::string()}};
  out.records = {athlete};
  out.library = {{"protocol", "quay_ankle", "archived", std::string(64, 'b')},
                 {"drill", "quay-calf", "active", std::string(64, 'c')}};
  return out;
}

TEST(ExportedLibrary, ComesBackAndFitsTheSchema) {
  const std::string text = write_export_manifest(manifest());
  const auto reading = read_export_manifest(text, "");
  ASSERT_TRUE(reading.manifest) << reading.faults.front();
  EXPECT_EQ(write_export_manifest(*reading.manifest), text);
  EXPECT_EQ(reading.manifest->library[0].state, "archived");
  const json schema = test_support::read_json_file(std::string(LINTEL_SOURCE_DIR) +
                                                   "/docs/schema/export.schema.json");
  EXPECT_EQ(test_support::schema_complaints(schema, json::parse(text)), "");
  view::ExportManifest none = manifest();
  none.library.clear();
  EXPECT_THAT(write_export_manifest(none), ::testing::Not(HasSubstr("library")));
}

TEST(ExportedLibrary, TellsEveryFault) {
  json bad = json::parse(write_export_manifest(manifest()));
  bad["library"][0]["name"] = "../../etc";
  bad["library"][1]["file"] = "library/drill/other.json";
  bad["library"].push_back(bad["library"][1]);
  bad["library"].push_back({{"kind", "standard_error"}});
  const std::set<std::string> fields = fields_of(read_export_manifest(bad.dump(), "").faults);
  for (const char* field : {"library[0].name", "library[0].file", "library[1].file",
                            "library[2].name", "library[3].kind", "library[3].sha256"}) {
    EXPECT_TRUE(fields.count(field)) << field;
  }
}

}  // namespace
}  // namespace lintel::formats
