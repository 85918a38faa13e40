// Reading small numeric CSV files of shared data in tests.
#pragma once

#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

namespace lintel::test {

// One map a row, keyed by the header; empty if the file is not there. No quotes.
inline std::vector<std::map<std::string, std::string>> read_text_csv(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  std::vector<std::string> header;
  std::vector<std::map<std::string, std::string>> rows;
  while (std::getline(file, line)) {
    std::stringstream stream(line);
    std::vector<std::string> fields;
    for (std::string field; std::getline(stream, field, ',');) fields.push_back(field);
    if (header.empty()) {
      header = fields;
      continue;
    }
    std::map<std::string, std::string> row;
    for (std::size_t i = 0; i < header.size() && i < fields.size(); ++i) {
      row[header[i]] = fields[i];
    }
    rows.push_back(row);
  }
  return rows;
}

inline std::vector<std::map<std::string, double>> read_numeric_csv(const std::string& path) {
  std::vector<std::map<std::string, double>> rows;
  for (const auto& text : read_text_csv(path)) {
    auto& row = rows.emplace_back();
    for (const auto& [key, value] : text) row[key] = std::stod(value);
  }
  return rows;
}

}  // namespace lintel::test
