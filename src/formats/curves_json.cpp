#include "formats/curves_json.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <utility>

#include "formats/json_factors.h"

namespace lintel::formats {
namespace {

using kinematics::Channel;
using kinematics::Series;

// Written by hand: a clip has some hundred thousand numbers.
void add_number(std::string& out, double value, int digits) {
  if (!std::isfinite(value)) {
    out += "null";
    return;
  }
  std::array<char, 40> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                 std::chars_format::general, digits);
  out.append(buffer.data(), end.ptr);
}

void add_values(std::string& out, const std::vector<double>& values, double factor, int digits) {
  out += '[';
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (i > 0) out += ',';
    add_number(out, values[i] * factor, digits);
  }
  out += ']';
}

bool has_value(const Series& series) {
  const auto finite = [](double v) { return std::isfinite(v); };
  return std::ranges::any_of(series.fitted, finite) || std::ranges::any_of(series.raw, finite);
}

void add_channel(std::string& out, Channel channel, const Series& series) {
  constexpr int kDigits = 7;
  const auto& info = kinematics::channel_info(channel);
  const bool is_angle = info.unit == kinematics::ChannelUnit::Radian;
  const double factor = is_angle ? kDegrees : kCentimetres;
  // Names and labels are words of ours: nothing in them to escape.
  out += "\"" + std::string(info.name) + "\":{\"label\":\"" + std::string(info.label) +
         "\",\"unit\":\"" + (is_angle ? "deg" : "cm") + "\"";
  const std::array<std::pair<const char*, const std::vector<double>*>, 5> parts = {{
      {"raw", &series.raw},
      {"filtered", &series.filtered},
      {"fitted", &series.fitted},
      {"error", &series.standard_error},
      {"rate", &series.rate},
  }};
  for (const auto& [name, values] : parts) {
    out += std::string(",\n\"") + name + "\":";
    add_values(out, *values, factor, kDigits);
  }
  out += "}";
}

constexpr std::array<const char*, kinematics::kFigurePointCount> kFigureNames = {
    "toe", "heel", "ankle", "knee", "hip", "shoulder", "elbow", "wrist", "bar", "mid_foot", "head"};

void add_figures(std::string& out, const std::vector<kinematics::Figure>& figures) {
  constexpr int kPixelDigits = 6;
  out += "\"figures\":{\"points\":[";
  for (std::size_t i = 0; i < kFigureNames.size(); ++i) {
    out += (i > 0 ? ",\"" : "\"") + std::string(kFigureNames[i]) + "\"";
  }
  out += "],\"px\":[";
  for (std::size_t f = 0; f < figures.size(); ++f) {
    out += f > 0 ? ",\n[" : "\n[";
    for (std::size_t i = 0; i < figures[f].size(); ++i) {
      if (i > 0) out += ',';
      add_number(out, static_cast<double>(figures[f][i].x()), kPixelDigits);
      out += ',';
      add_number(out, static_cast<double>(figures[f][i].y()), kPixelDigits);
    }
    out += ']';
  }
  out += "]}";
}

}  // namespace

std::string write_curves_json(const kinematics::Measurement& measurement) {
  constexpr int kTimeDigits = 9;
  std::string out = "{\"schema\":\"lintel-curves-1\",\n\"time_s\":";
  add_values(out, measurement.time, 1.0, kTimeDigits);
  out += ",\n\"frame\":[";
  for (std::size_t i = 0; i < measurement.frame_index.size(); ++i) {
    if (i > 0) out += ',';
    out += std::to_string(measurement.frame_index[i]);
  }
  out += "],\n\"channels\":{";
  bool first = true;
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    const auto channel = static_cast<Channel>(c);
    if (!has_value(measurement[channel])) continue;
    if (!first) out += ",\n";
    first = false;
    add_channel(out, channel, measurement[channel]);
  }
  out += "},\n";
  add_figures(out, measurement.figures);
  out += "}\n";
  return out;
}

}  // namespace lintel::formats
