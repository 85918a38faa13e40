#include "formats/overrulings_json.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "support/schema_check.h"

namespace lintel::formats {
namespace {

using nlohmann::json;
using reasoning::Verdict;
using ::testing::HasSubstr;

json good() {
  return json::parse(R"({"schema": "lintel-overrulings-1", "athlete": "a1", "overrulings": [
    {"finding": "ankle", "verdict": "rejected", "reason": "full range on the table, soft end",
     "who": "Eydis Brandvik", "date": "2026-11-25"},
    {"finding": "ankle_side.knee_to_wall", "verdict": "asserted", "size_deg": 6.5,
     "reason": "old sprain on the left", "who": "Eydis Brandvik", "date": "2026-11-26"},
    {"finding": "habit", "verdict": "withdrawn", "reason": "filmed again", "who": "E. B.",
     "date": "2026-11-27"}]})");
}

OverrulingsReading read(const json& document) {
  return read_overrulings_json(document.dump(1), "words.json");
}

TEST(OverrulingsJson, ReadsWritesAndReadsTheSame) {
  const auto reading = read(good());
  ASSERT_TRUE(reading.file) << describe(reading.faults.at(0));
  EXPECT_EQ(reading.file->athlete_id, "a1");
  ASSERT_EQ(reading.file->overrulings.size(), 3u);
  const auto& second = reading.file->overrulings[1];
  EXPECT_EQ(second.verdict, Verdict::Asserted);
  EXPECT_NEAR(*second.size, 6.5 * kRadiansPerDegree, 1e-12);
  EXPECT_EQ(second.date.iso(), "2026-11-26");
  const std::string text = write_overrulings_json(*reading.file);
  EXPECT_EQ(json::parse(text), good());
  EXPECT_EQ(write_overrulings_json(*read_overrulings_json(text, "").file), text);
}

// One change of the good file, and where the fault must be said to be.
struct Fault {
  const char* pointer;
  json value;  // null = erase
  const char* field;
  const char* says;
};

TEST(OverrulingsJson, EveryFaultHasItsFieldLineAndMend) {
  const std::vector<Fault> faults = {
      {"/schema", "lintel-overrulings-9", "schema", "lintel-overrulings-9"},
      {"/athlete", "", "athlete", "empty"},
      {"/athlete", nullptr, "athlete", "missing"},
      {"/overrulings", "none", "overrulings", "must be"},
      {"/overrulings/0", 7, "overrulings[0]", "must be"},
      {"/overrulings/0/finding", "ancle", "overrulings[0].finding", "ankle"},
      {"/overrulings/0/verdict", "reject", "overrulings[0].verdict", "rejected"},
      {"/overrulings/0/size_deg", 5, "overrulings[0].size_deg", "asserted"},
      {"/overrulings/1/size_deg", 91, "overrulings[1].size_deg", "90"},
      {"/overrulings/1/size_deg", -1, "overrulings[1].size_deg", "0"},
      {"/overrulings/1/size_deg", "6", "overrulings[1].size_deg", "number"},
      {"/overrulings/0/reason", nullptr, "overrulings[0].reason", "missing"},
      {"/overrulings/0/reason", "", "overrulings[0].reason", "empty"},
      {"/overrulings/0/reason", std::string(2001, 'x'), "overrulings[0].reason", "2000"},
      {"/overrulings/2/who", nullptr, "overrulings[2].who", "missing"},
      {"/overrulings/2/date", "27.11.2026", "overrulings[2].date", "YYYY-MM-DD"},
      {"/overrulings/2/date", "2026-02-30", "overrulings[2].date", "YYYY-MM-DD"},
      {"/overrulings/2/date", nullptr, "overrulings[2].date", "missing"},
      {"/overrulings/0/resaon", "typo", "overrulings[0].resaon", "reason"},
  };
  for (const Fault& fault : faults) {
    json document = good();
    const json::json_pointer at(fault.pointer);
    if (fault.value.is_null()) {
      document[at.parent_pointer()].erase(at.back());
    } else {
      document[at] = fault.value;
    }
    const auto reading = read(document);
    EXPECT_FALSE(reading.file) << fault.pointer;
    const bool found =
        std::any_of(reading.faults.begin(), reading.faults.end(), [&](const Error& e) {
          return e.place.field == fault.field && e.place.line > 0 && e.place.file == "words.json" &&
                 describe(e).find(fault.says) != std::string::npos;
        });
    EXPECT_TRUE(found) << fault.pointer << ": "
                       << (reading.faults.empty() ? "no fault" : describe(reading.faults[0]));
  }
}

TEST(OverrulingsJson, AllFaultsOfAFileAreTold) {
  json document = good();
  document["overrulings"][0].erase("reason");
  document["overrulings"][1]["verdict"] = "maybe";
  document["overrulings"][2]["date"] = "soon";
  EXPECT_EQ(read(document).faults.size(), 4u);  // a size beside no verdict as well
  EXPECT_FALSE(read_overrulings_json("[1, 2", "x").file);
  EXPECT_FALSE(read_overrulings_json(std::string(2u << 20, ' '), "x").file);
  json many = good();
  for (int i = 0; i < 501; ++i) many["overrulings"].push_back(good()["overrulings"][0]);
  EXPECT_FALSE(read(many).file);
}

TEST(OverrulingsSchema, AgreesWithTheReader) {
  const json schema = test_support::read_schema("overrulings.schema.json");
  EXPECT_EQ(test_support::schema_complaints(schema, good()), "");
  const auto& ids = schema["properties"]["overrulings"]["items"]["properties"]["finding"]["enum"];
  EXPECT_EQ(ids.size(), reasoning::finding_ids().size());
  for (const std::string& id : reasoning::finding_ids()) {
    EXPECT_NE(std::find(ids.begin(), ids.end(), id), ids.end()) << id;
  }
  for (const char* key : {"finding", "verdict", "reason", "who", "date"}) {
    json bad = good();
    bad["overrulings"][0].erase(key);
    EXPECT_NE(test_support::schema_complaints(schema, bad), "") << key;
  }
  json sized = good();
  sized["overrulings"][0]["size_deg"] = 5;
  EXPECT_NE(test_support::schema_complaints(schema, sized), "");
}

}  // namespace
}  // namespace lintel::formats
