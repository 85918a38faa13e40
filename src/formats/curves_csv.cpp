#include "formats/curves_csv.h"

#include <array>
#include <cmath>

#include "base/cautions.h"
#include "formats/csv.h"

namespace lintel::formats {
namespace {

using kinematics::Channel;
using kinematics::Series;

struct Column {
  const std::vector<double>* values;
  double factor;
};

void add_columns(const Series& series, Channel channel, std::string& header,
                 std::vector<Column>& columns) {
  const auto& info = kinematics::channel_info(channel);
  const bool is_angle = info.unit == kinematics::ChannelUnit::Radian;
  const std::string unit = is_angle ? "deg" : "cm";
  const double factor = is_angle ? kDegreesPerRadian : 100.0;
  const std::string name(info.name);
  const std::array<std::pair<const char*, const std::vector<double>*>, 4> parts = {{
      {"raw", &series.raw},
      {"filtered", &series.filtered},
      {"fitted", &series.fitted},
      {"standard_error", &series.standard_error},
  }};
  for (const auto& [part, values] : parts) {
    header += "," + name + "_" + part + "_" + unit;
    columns.push_back({values, factor});
  }
  header += "," + name + "_rate_" + unit + "_per_s";
  columns.push_back({&series.rate, factor});
}

}  // namespace

std::string write_curves_csv(const kinematics::Measurement& measurement) {
  std::string csv = "time_s,frame";
  std::vector<Column> columns;
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    add_columns(measurement.series[static_cast<std::size_t>(c)], static_cast<Channel>(c), csv,
                columns);
  }
  csv += "\r\n";
  csv.reserve(csv.size() + measurement.time.size() * columns.size() * 9);
  for (std::size_t i = 0; i < measurement.time.size(); ++i) {
    csv += csv_number(measurement.time[i], 9);
    csv += ',';
    if (i < measurement.frame_index.size()) csv += std::to_string(measurement.frame_index[i]);
    for (const Column& column : columns) {
      csv += ',';
      if (i < column.values->size()) csv += csv_number((*column.values)[i] * column.factor, 7);
    }
    csv += "\r\n";
  }
  return csv;
}

std::string write_output_readme(std::string_view title, std::span<const OutputFile> files) {
  std::string text(title);
  text += "\n\nFiles\n";
  for (const OutputFile& file : files) text += "  " + file.name + ": " + file.description + "\n";
  text +=
      "\nUnits are in the names of keys and columns. A standard error follows each measured "
      "number.\n\nBefore anybody acts on this\n";
  for (const Caution& caution : cautions()) text += "- " + std::string(caution.text) + "\n";
  return text;
}

}  // namespace lintel::formats
