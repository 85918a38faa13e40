// Reading the tables of tests/data/reliability.
#pragma once

#include <gtest/gtest.h>

#include <Eigen/Core>
#include <cmath>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

namespace lintel::test {

inline std::string reliability_file(const std::string& name) {
  return std::string(LINTEL_SOURCE_DIR) + "/tests/data/reliability/" + name;
}

// Rows keyed by the text of the first column, cells by their header.
using KeyedRows = std::map<std::string, std::map<std::string, double>>;

inline KeyedRows read_keyed_rows(const std::string& name) {
  std::ifstream file(reliability_file(name));
  EXPECT_TRUE(file) << name;
  const auto split = [](const std::string& line) {
    std::stringstream stream(line);
    std::vector<std::string> cells;
    for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
    return cells;
  };
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> header = split(line);
  KeyedRows rows;
  while (std::getline(file, line)) {
    const auto cells = split(line);
    for (std::size_t i = 1; i < cells.size(); ++i) {
      rows[cells[0]][header[i]] = std::stod(cells[i]);
    }
  }
  EXPECT_FALSE(rows.empty()) << name;
  return rows;
}

// All columns but the first, in file order.
inline Eigen::MatrixXd read_ratings(const std::string& name) {
  std::ifstream file(reliability_file(name));
  EXPECT_TRUE(file) << name;
  std::string line;
  std::getline(file, line);
  std::vector<std::vector<double>> rows;
  while (std::getline(file, line)) {
    std::stringstream stream(line);
    std::string cell;
    std::getline(stream, cell, ',');
    rows.emplace_back();
    while (std::getline(stream, cell, ',')) rows.back().push_back(std::stod(cell));
  }
  Eigen::MatrixXd out(static_cast<Eigen::Index>(rows.size()),
                      static_cast<Eigen::Index>(rows.front().size()));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (std::size_t j = 0; j < rows[i].size(); ++j) {
      out(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j)) = rows[i][j];
    }
  }
  return out;
}

// Agreement to eight digits, which is what the project promises.
inline void expect_close(double ours, double theirs, const std::string& what) {
  EXPECT_LE(std::abs(ours - theirs), 1e-8 * std::abs(theirs))
      << what << ": " << ours << " against " << theirs;
}

}  // namespace lintel::test
