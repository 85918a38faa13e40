#include "formats/export_json.h"

#include <gtest/gtest.h>

#include "formats/backup_json.h"
#include "support/schema_check.h"
#include "support/temporary_folder.h"

namespace lintel::formats {
namespace {

const std::string kId = "2ed6657d-e927-568b-95e1-2665a8aea6a2";
const std::string kVisit = "3ed6657d-e927-568b-95e1-2665a8aea6a2";
const std::string kDigest(64, 'a');

view::ExportManifest example() {
  view::ExportManifest out;
  out.exported_at = "2026-03-09T07:05:30.123Z";
  out.program_version = "0.1.0";
  out.athlete = kId;
  out.people = {{kVisit, "Runa Feldvik"}};
  view::ExportRecord athlete;
  athlete.id = kId;
  athlete.kind = "athlete";
  athlete.created_at = out.exported_at;
  athlete.created_by = kVisit;
  athlete.versions = {{1, "active", out.exported_at, kVisit, "", kDigest},
                      {2, "archived", "2026-03-10T07:05:30.123Z", kVisit, "away", kDigest}};
  athlete.columns.athlete = {{std::string("Ansa Brinvik"), std::string("1996-04-12"),
                              std::string("female"), std::string("club\nsnatch")}};
  view::ExportRecord visit = athlete;
  visit.id = kVisit;
  visit.kind = "visit";
  visit.columns = {};
  visit.columns.date = "2026-03-09";
  visit.columns.tests = {{std::string("knee_to_wall_distance"), std::string("left"),
                          std::string("2026-03-09"), std::string("cm"), 8.123456789012345, 0.6}};
  visit.columns.drills = {{std::string("slow-heel-drop"), std::string("2026-03-09"),
                           std::int64_t{3}, 7.5, std::monostate{}}};
  visit.media = {{kDigest, "video/mp4", 123}};
  out.records = {athlete, visit};
  out.missing_media = {kDigest};
  return out;
}

TEST(ExportManifest, ComesBackAsItWasWritten) {
  const std::string text = write_export_manifest(example());
  const ExportReading reading = read_export_manifest(text, "manifest.json");
  ASSERT_TRUE(reading.manifest) << reading.faults.front();
  EXPECT_EQ(write_export_manifest(*reading.manifest), text);
  EXPECT_EQ(std::get<double>(reading.manifest->records[1].columns.tests[0][4]), 8.123456789012345);
}

TEST(ExportManifest, TellsEveryFaultWithFieldAndLine) {
  view::ExportManifest bad = example();
  bad.records[1].parent = kDigest.substr(0, 36);
  bad.records[1].versions[1].version = 3;
  bad.records[1].media[0].media_type = "text/html";
  const ExportReading reading = read_export_manifest(write_export_manifest(bad), "manifest.json");
  EXPECT_FALSE(reading.manifest);
  ASSERT_EQ(reading.faults.size(), 3U) << reading.faults.back();
  EXPECT_EQ(reading.faults[0].place.field, "records[1].parent");
  EXPECT_EQ(reading.faults[1].place.field, "records[1].versions[1].version");
  EXPECT_EQ(reading.faults[2].place.field, "records[1].media[0].media_type");
  for (const Error& fault : reading.faults) {
    EXPECT_GT(fault.place.line, 1);
    EXPECT_EQ(fault.place.file, "manifest.json");
  }
}

TEST(ExportManifest, FitsItsSchema) {
  const auto schema = test_support::read_schema("export.schema.json");
  const auto document = nlohmann::json::parse(write_export_manifest(example()));
  EXPECT_EQ(test_support::schema_complaints(schema, document), "");
  // The schema and the reader refuse the same.
  for (const char* pointer : {"/records/0/versions/0/sha256", "/athlete", "/records/1/kind",
                              "/records/1/columns/date", "/records/1/media/0/bytes"}) {
    auto bad = document;
    bad[nlohmann::json::json_pointer(pointer)] = "x";
    EXPECT_NE(test_support::schema_complaints(schema, bad), "") << pointer;
    EXPECT_FALSE(read_export_manifest(bad.dump(), "manifest.json").manifest) << pointer;
  }
}

TEST(ExportDocuments, GiveTheirDigestsAndHaveLimits) {
  const auto digests = digests_in_document(
      R"({"a": [{"sha256": ")" + kDigest + R"("}], "sha256": "short", "b": {"sha256": 3}})",
      "v1.json");
  EXPECT_EQ(digests.value(), std::vector<std::string>{kDigest});
  EXPECT_EQ(digests_in_document("[]", "v1.json").error().code, ErrorCode::Invalid);
  EXPECT_EQ(
      digests_in_document("{\"a\":" + std::string(100, '[') + std::string(100, ']') + "}", "v1")
          .error()
          .code,
      ErrorCode::Limit);
  EXPECT_EQ(digests_in_document("{\"a\": \"\xe5\"}", "v1.json").error().code, ErrorCode::Invalid);
}

TEST(BackupRows, KeepEveryBitAndEveryByte) {
  const view::TableShape table{"t",
                               {{"a", view::ColumnType::Integer},
                                {"b", view::ColumnType::Real},
                                {"c", view::ColumnType::Text},
                                {"d", view::ColumnType::Text}},
                               {0}};
  const std::vector<view::TableRow> rows = {
      {std::int64_t{9223372036854775807}, 0.1 + 0.2, std::string("Å \"x\" \n\0 y", 12),
       std::monostate{}},
      {std::int64_t{-9223372036854775807 - 1}, -0.0, std::string("\xff\xfe not UTF-8"),
       std::string()},
      {std::monostate{}, 5e-324, std::string("\u2028"), std::string("{}")},
      {std::int64_t{0}, 3.0, std::string(), std::string("null")}};
  for (const view::TableRow& row : rows) {
    const std::string line = write_table_row(row);
    EXPECT_EQ(line.find('\n'), line.size() - 1);
    const auto back = read_table_row(std::string_view(line).substr(0, line.size() - 1), table);
    ASSERT_TRUE(back) << back.error();
    EXPECT_EQ(*back, row) << line;
    EXPECT_EQ(write_table_row(*back), line);
  }
  for (const char* bad : {"[1,2.0,\"x\"]", "[1.5,2.0,\"x\",\"y\"]", "{}", "[1,\"2\",\"x\",\"y\"]",
                          "[1,2", "[1,2.0,3,\"y\"]", "[1,2.0,{\"bytes_hex\":\"f\"},\"y\"]"}) {
    EXPECT_EQ(read_table_row(bad, table).error().code, ErrorCode::Invalid) << bad;
  }
}

TEST(BackupParts, OfANewerProgramAreRefused) {
  EXPECT_EQ(read_backup_about(R"({"schema": "lintel-backup-2"})").error().code,
            ErrorCode::Unsupported);
  EXPECT_EQ(read_backup_about("{}").error().code, ErrorCode::Invalid);
  EXPECT_EQ(read_backup_manifest("[1").error().code, ErrorCode::Invalid);
  EXPECT_EQ(read_backup_end(write_backup_end({kDigest})).value(),
            std::vector<std::string>{kDigest});
}

}  // namespace
}  // namespace lintel::formats
