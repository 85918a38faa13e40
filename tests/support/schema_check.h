// Documents against the JSON Schemas (draft 7) of docs/schema.
#pragma once

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include <nlohmann/json.hpp>

namespace lintel::test_support {

inline nlohmann::json read_json_file(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("no file " + path);
  return nlohmann::json::parse(file);
}

// Every *.json of a folder of the project, by name.
inline std::vector<std::filesystem::path> json_files(const std::string& folder) {
  std::vector<std::filesystem::path> files;
  for (const auto& entry :
       std::filesystem::directory_iterator(std::filesystem::path(LINTEL_SOURCE_DIR) / folder)) {
    if (entry.path().extension() == ".json") files.push_back(entry.path());
  }
  std::sort(files.begin(), files.end());
  return files;
}

inline nlohmann::json read_schema(const std::string& name) {
  return read_json_file(std::string(LINTEL_SOURCE_DIR) + "/docs/schema/" + name);
}

// Empty when valid, else the first complaints.
std::string schema_complaints(const nlohmann::json& schema_json, const nlohmann::json& document);
// The same for schemas of draft 4, as others publish them.
std::string draft4_complaints(const nlohmann::json& schema_json, const nlohmann::json& document);

}  // namespace lintel::test_support
