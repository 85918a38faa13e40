#include "formats/test_photo_json.h"

#include "formats/field_reader.h"
#include "formats/json_cautions.h"
#include "formats/test_entry_json.h"

namespace lintel::formats {
namespace {

Json point_json(const Eigen::Vector2d& p) {
  return Json::array({number(p.x()), number(p.y())});
}

Json points_json(const kinematics::PhotoPoints& points) {
  Json json = Json::object();
  for (const auto& [name, point] : points) {
    json[name] = {{"position_px", point_json(point.position_px)},
                  {"standard_error_px", number(point.error_px)},
                  {"placed_by", point.by_hand ? "hand" : "network"}};
  }
  return json;
}

}  // namespace

PhotoPointsReading read_photo_points_json(std::string_view text, std::string_view file_name,
                                          const std::vector<std::string>& known, int width_px,
                                          int height_px) {
  PhotoPointsReading reading;
  FaultList faults;
  FieldReader read(faults);
  std::map<std::string, Eigen::Vector2d> points;
  auto root = parse_json(text, {std::size_t{64} << 10, 4, 2000});
  if (!root) {
    faults.add(std::move(root).error());
  } else if (read.is_kind(*root, "the file", JsonKind::Object)) {
    read.check_keys(*root, "", known);
    for (const auto& [name, value] : root->members) {
      if (!read.is_kind(value, name, JsonKind::Array)) continue;
      if (value.items.size() != 2) {
        faults.add(value, name, "must be two numbers", "write [x, y] in pixels");
        continue;
      }
      const auto x = read.number_of(value.items[0], name + "[0]", {0, width_px * 1.0, "px"});
      const auto y = read.number_of(value.items[1], name + "[1]", {0, height_px * 1.0, "px"});
      if (x && y) points[name] = {*x, *y};
    }
  }
  if (faults.empty()) reading.points = std::move(points);
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

std::string write_test_photo_json(const PhotoDocument& d) {
  const double per_si = 1.0 / body::si_per_unit(d.protocol->unit);
  const std::string unit(body::protocol_unit_name(d.protocol->unit));
  Json json;
  json["schema"] = "lintel-test-photo-1";
  json["protocol"] = d.protocol->id;
  json["side"] = body::test_side_name(d.side);
  json["picture"] = {{"width_px", d.width_px}, {"height_px", d.height_px}};
  json["points"] = points_json(d.points);
  json["originals"] = points_json(d.originals);
  json["far_side"] = kinematics::uses_far_side(d.points);
  json["known_length"] = nullptr;
  if (d.known_length) {
    json["known_length"] = {{"length_cm", number(d.known_length->length * kCentimetres)},
                            {"from_px", point_json(d.known_length->from_px)},
                            {"to_px", point_json(d.known_length->to_px)}};
  }
  json["result_" + unit] = estimate(d.reading.result, per_si);
  json["error_parts_" + unit] = {{"points", number(d.reading.from_points * per_si)},
                                 {"vertical", number(d.reading.from_vertical * per_si)},
                                 {"length", number(d.reading.from_length * per_si)},
                                 {"method", number(d.reading.from_method * per_si)}};
  json["record_entry"] = test_entry_json(d.entry, *d.protocol);
  json["cautions"] = cautions_json();
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
