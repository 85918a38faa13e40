// Every drawing of data/ against the schema and the reader, and the schema against the reader.
#include <filesystem>
#include <fstream>
#include <sstream>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "formats/sketch_json.h"
#include "support/schema_check.h"

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using test_support::read_json_file;
using test_support::read_schema;
using test_support::schema_complaints;

struct Stored {
  std::string name;
  json drawing;
};

std::vector<Stored> stored_drawings() {
  std::vector<Stored> all;
  for (const char* folder : {"data/protocols", "data/drills"}) {
    for (const auto& file : test_support::json_files(folder)) {
      all.push_back({file.filename().string(), read_json_file(file.string()).at("drawing")});
    }
  }
  return all;
}

std::vector<Error> faults_of(const json& drawing, Sketch* out = nullptr) {
  const auto root = parse_json(drawing.dump(), {});
  EXPECT_TRUE(root);
  FaultList faults;
  Sketch sketch;
  if (root) read_sketch(*root, "drawing", faults, sketch);
  if (out != nullptr) *out = sketch;
  return faults.take();
}

TEST(SketchData, HoldsEveryDrawingToSchemaAndReader) {
  const json schema = read_schema("drawing.schema.json");
  const auto all = stored_drawings();
  ASSERT_GT(all.size(), 30u);
  for (const Stored& stored : all) {
    EXPECT_EQ(schema_complaints(schema, stored.drawing), "") << stored.name;
    Sketch sketch;
    EXPECT_TRUE(faults_of(stored.drawing, &sketch).empty()) << stored.name;
    EXPECT_FALSE(sketch.panels.empty()) << stored.name;
    for (const SketchPanel& panel : sketch.panels) {
      EXPECT_FALSE(panel.figures.empty()) << stored.name << ": a panel without a figure";
      EXPECT_FALSE(panel.caption.empty()) << stored.name << ": a panel without a caption";
    }
    // What is written is good by the schema as well.
    EXPECT_EQ(schema_complaints(schema, json::parse(write_sketch(sketch))), "") << stored.name;
  }
}

TEST(SketchData, TheExampleOfTheDocumentIsGood) {
  std::ifstream file(fs::path(LINTEL_SOURCE_DIR) / "docs" / "drawings.md");
  std::stringstream text;
  text << file.rdbuf();
  const std::string all = text.str();
  const std::string fence = "```json\n";
  const std::size_t begin = all.find(fence);
  ASSERT_NE(begin, std::string::npos);
  const std::size_t end = all.find("```", begin + fence.size());
  const std::size_t from = begin + fence.size();
  const json drawing = json::parse("{" + all.substr(from, end - from) + "}").at("drawing");
  EXPECT_EQ(schema_complaints(read_schema("drawing.schema.json"), drawing), "");
  EXPECT_TRUE(faults_of(drawing).empty());
}

TEST(SketchData, SchemaRefusesWhatTheReaderRefuses) {
  const json schema = read_schema("drawing.schema.json");
  const std::vector<const char*> bad = {
      R"({})",
      R"({"panels": []})",
      R"({"panels": [{}]})",
      R"({"panels": [{"view": "back", "figure": {}}]})",
      R"({"panels": [{"figure": {"thigh_deg": [1, 2, 3]}}]})",
      R"({"panels": [{"figure": {"trunk_deg": 1000}}]})",
      R"({"panels": [{"figure": {"at": {"joint": "nee"}}}]})",
      R"({"panels": [{"figure": {"seen": {"trunk": 0}}}]})",
      R"({"panels": [{"figure": {"behind": ["tail"]}}]})",
      R"({"panels": [{"props": [{"kind": "flor"}]}]})",
      R"({"panels": [{"props": [{"kind": "ball"}]}]})",
      R"({"panels": [{"props": [{"kind": "wall"}]}]})",
      R"({"panels": [{"props": [{"kind": "band", "from": "hand"}]}]})",
      R"({"panels": [{"marks": [{"kind": "arrow", "from": [0, 0]}]}]})",
      R"({"panels": [{"marks": [{"kind": "text", "at": [0, 0]}]}]})",
      R"({"panels": [{"marks": [{"kind": "angle", "at": "hip", "from_deg": 0}]}]})",
      R"({"panels": [{"figure": {}, "colour": "red"}]})",
  };
  for (const char* text : bad) {
    const json drawing = json::parse(text);
    EXPECT_NE(schema_complaints(schema, drawing), "") << text;
    EXPECT_FALSE(faults_of(drawing).empty()) << text;
  }
}

}  // namespace
}  // namespace lintel::formats
