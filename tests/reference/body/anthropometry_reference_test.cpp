// Segment estimates against the people of ANSUR II (2012), and Winter's table against itself.
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iostream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <gtest/gtest.h>

#include "body/anthropometry.h"

namespace lintel::body {
namespace {

using Row = std::map<std::string, std::string>;

std::vector<Row> read_csv(const std::string& path) {
  std::ifstream file(path);
  std::string line;
  std::vector<std::string> header;
  std::vector<Row> rows;
  while (std::getline(file, line)) {
    std::stringstream stream(line);
    std::vector<std::string> fields;
    for (std::string field; std::getline(stream, field, ',');) fields.push_back(field);
    if (header.empty()) {
      header = fields;
      continue;
    }
    Row row;
    for (std::size_t i = 0; i < header.size() && i < fields.size(); ++i) row[header[i]] = fields[i];
    rows.push_back(row);
  }
  return rows;
}

double millimetres(const Row& row, const std::string& column) {
  return std::stod(row.at(column)) * 0.001;
}

struct Landmarked {
  Segment segment;
  std::string what;
  std::function<double(const Row&)> length;
  bool same_landmarks;  // false: joint centres against landmarks; the mean gap is taken out
};

TEST(AnsurPeople, NinetyPercentLieWithin1645StandardDeviations) {
  const std::string path = std::string(LINTEL_SHARED_DATA_DIR) + "/anthropometry/ansur2.csv";
  if (!std::filesystem::exists(path)) GTEST_SKIP() << "SKIPPED, no data at " << path;
  const auto rows = read_csv(path);
  ASSERT_EQ(rows.size(), 6068u);
  const std::vector<Landmarked> segments = {
      {Segment::Shank, "epicondyle to malleolus",
       [](const Row& r) {
         return millimetres(r, "lateral_femoral_epicondyle_height") -
                millimetres(r, "lateral_malleolus_height");
       },
       true},
      {Segment::Foot, "foot length", [](const Row& r) { return millimetres(r, "foot_length"); },
       true},
      {Segment::AnkleHeight, "malleolus height",
       [](const Row& r) { return millimetres(r, "lateral_malleolus_height"); }, true},
      {Segment::Grip, "wrist to grip",
       [](const Row& r) {
         return millimetres(r, "forearm_center_of_grip_length") -
                millimetres(r, "radiale_stylion_length");
       },
       true},
      {Segment::InterShoulder, "biacromial less 40 mm",
       [](const Row& r) { return millimetres(r, "biacromial_breadth") - 0.04; }, true},
      {Segment::Thigh, "trochanter to epicondyle",
       [](const Row& r) {
         return millimetres(r, "trochanterion_height") -
                millimetres(r, "lateral_femoral_epicondyle_height");
       },
       false},
      {Segment::Trunk, "acromion to trochanter",
       [](const Row& r) {
         return millimetres(r, "acromial_height") - millimetres(r, "trochanterion_height");
       },
       false},
      {Segment::UpperArm, "acromion to radiale",
       [](const Row& r) { return millimetres(r, "acromion_radiale_length"); }, false},
      {Segment::Forearm, "radiale to stylion",
       [](const Row& r) { return millimetres(r, "radiale_stylion_length"); }, false},
      {Segment::HeadNeck, "acromion to vertex",
       [](const Row& r) { return millimetres(r, "stature") - millimetres(r, "acromial_height"); },
       false}};
  for (const std::string sex : {"M", "F"}) {
    for (const Landmarked& s : segments) {
      std::vector<double> residual;
      double error = 0.0;
      for (const Row& row : rows) {
        if (row.at("sex") != sex) continue;
        const auto lengths =
            estimate_segments(sex == "M" ? Sex::Male : Sex::Female, millimetres(row, "stature"));
        ASSERT_TRUE(lengths);
        residual.push_back(s.length(row) - (*lengths)[s.segment].value);
        error = (*lengths)[s.segment].standard_error;
      }
      double mean = 0.0;
      for (const double r : residual) mean += r / static_cast<double>(residual.size());
      int inside = 0;
      for (const double r : residual) {
        if (std::abs(r - (s.same_landmarks ? 0.0 : mean)) <= 1.645 * error) ++inside;
      }
      const double share = inside / static_cast<double>(residual.size());
      std::cout << sex << " " << segment_name(s.segment) << " (" << s.what << "): mean gap "
                << mean * 1000.0 << " mm, SD " << error * 1000.0 << " mm, " << share * 100.0
                << " % within 1.645 SD" << (s.same_landmarks ? "" : " after the mean gap") << "\n";
      EXPECT_NEAR(share, 0.90, 0.025) << s.what << " " << sex;
    }
  }
}

TEST(Winter, TableClosesWithItself) {
  // Published check 2: Winter, Biomechanics and Motor Control of Human Movement, table 4.1.
  const std::string path =
      std::string(LINTEL_SHARED_DATA_DIR) + "/anthropometry/bsp-winter-dempster.csv";
  if (!std::filesystem::exists(path)) GTEST_SKIP() << "SKIPPED, no data at " << path;
  std::map<std::string, Row> by_name;
  for (const Row& row : read_csv(path)) by_name[row.at("segment")] = row;
  const auto number = [&](const std::string& segment, const std::string& column) {
    return std::stod(by_name.at(segment).at(column));
  };
  const auto find = [&](const std::string& start) {
    for (const auto& [name, row] : by_name) {
      if (name.rfind(start, 0) == 0) return name;
    }
    return std::string();
  };
  const std::map<std::string, double> proximal = {
      {"Thigh", 0.540}, {"Foot", 0.690}, {"Upper arm", 0.542}, {"Forearm", 0.526}};
  for (const auto& [segment, expected] : proximal) {
    const std::string name = find(segment);
    ASSERT_FALSE(name.empty()) << segment;
    EXPECT_NEAR(std::hypot(number(name, "rg_com"), number(name, "com_proximal")), expected, 0.001)
        << name;
  }
}

}  // namespace
}  // namespace lintel::body
