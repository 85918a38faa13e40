#include "base/cautions.h"

#include <gtest/gtest.h>
#include <toml++/toml.h>
#include <fstream>

namespace lintel {
namespace {

TEST(Cautions, AreThoseOfTheDataFileAsAnotherTomlReaderSeesIt) {
  const toml::table table =
      toml::parse_file(std::string(LINTEL_SOURCE_DIR) + "/data/cautions.toml");
  const toml::array* list = table["caution"].as_array();
  ASSERT_NE(list, nullptr);
  ASSERT_EQ(list->size(), cautions().size());
  for (std::size_t i = 0; i < list->size(); ++i) {
    const toml::table& entry = *list->get(i)->as_table();
    EXPECT_EQ(entry["code"].value_or(std::string()), cautions()[i].code);
    EXPECT_EQ(entry["title"].value_or(std::string()), cautions()[i].title);
    EXPECT_EQ(entry["text"].value_or(std::string()), cautions()[i].text);
    EXPECT_EQ(entry["brief"].value_or(std::string()), cautions()[i].brief);
  }
}

// The list of what every output must say is that of the product's safety rules.
TEST(Cautions, SayEverythingThatTheyMust) {
  for (const char* must :
       {"pain", "numbness", "dizziness", "spotters", "drop zone", "unloaded", "licensed clinician",
        "injury", "surgery", "pregnancy", "growth", "does not diagnose", "come first"}) {
    EXPECT_NE(cautions_text().find(must), std::string::npos) << must;
  }
  for (const char* must : {"pain", "numbness", "dizziness", "Spotters", "drop zone", "Unloaded",
                           "clinician", "does not diagnose", "Local rules"}) {
    EXPECT_NE(cautions_brief().find(must), std::string::npos) << must;
  }
}

TEST(Cautions, RefuseAFileThatIsNotComplete) {
  const auto fault_line = [](std::string_view text) {
    const auto parsed = detail::parse_cautions(text);
    return parsed ? std::int64_t{-1} : parsed.error().place.line;
  };
  EXPECT_EQ(fault_line(""), 0);
  EXPECT_EQ(fault_line("code = \"x\"\n"), 1);
  EXPECT_EQ(fault_line("[[caution]]\ncode = \"x\"\n"), 2);  // text missing
  EXPECT_EQ(fault_line("[[caution]]\nweight = \"x\"\n"), 2);
  EXPECT_EQ(fault_line("[[caution]]\n\ncode = \"x\"\ncode = \"y\"\n"), 4);
  EXPECT_EQ(fault_line("[[caution]]\ncode = \"x\\n\"\n"), 2);
  EXPECT_EQ(fault_line("[[caution]]\ncode = \"\"\n"), 2);
  EXPECT_EQ(fault_line("[[caution]]\ncode = \"\n"), 2);
}

}  // namespace
}  // namespace lintel
