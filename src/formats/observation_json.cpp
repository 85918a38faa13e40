#include "formats/observation_json.h"

#include <array>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <exception>
#include <nlohmann/json.hpp>
#include <utility>

namespace lintel::formats {
namespace {

using kinematics::BodyObservation;
using kinematics::DiscObservation;
using kinematics::FrameObservation;
using kinematics::KeptObservation;
using kinematics::Landmark;
using kinematics::LandmarkObservation;
using Json = nlohmann::json;

constexpr const char* kSchema = "lintel-points-1";
constexpr std::size_t kLargestText = std::size_t{512} << 20;
constexpr std::size_t kMostFrames = 200'000;
constexpr double kLargestPixel = 1e6;
constexpr std::size_t kColumns = 8;
constexpr std::array<const char*, kColumns> kColumnNames = {
    "x_px",           "y_px",     "confidence", "regressed_x_px",
    "regressed_y_px", "depth_px", "visibility", "refined"};

template <typename T>
void add_number(std::string& out, T value) {
  if constexpr (std::is_floating_point_v<T>) {
    if (!std::isfinite(value)) {
      out += "null";
      return;
    }
  }
  std::array<char, 40> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value);
  out.append(buffer.data(), end.ptr);
}

template <typename T>
void add_member(std::string& out, const char* name, T value) {
  out += std::string("\"") + name + "\":";
  if constexpr (std::is_same_v<T, bool>) {
    out += value ? "true" : "false";
  } else {
    add_number(out, value);
  }
  out += ',';
}

void add_film(std::string& out, const kinematics::FilmFacts& film) {
  out += "\"film\":{";
  add_member(out, "source_width_px", film.source_width_px);
  add_member(out, "source_height_px", film.source_height_px);
  add_member(out, "scale", film.scale);
  out += "\"codec\":" + Json(film.codec).dump(-1, ' ', true, Json::error_handler_t::replace);
  out +=
      ",\"container\":" + Json(film.container).dump(-1, ' ', true, Json::error_handler_t::replace) +
      ",";
  add_member(out, "bit_depth", film.bit_depth);
  add_member(out, "quarter_turns", film.quarter_turns);
  add_member(out, "variable_rate", film.variable_rate);
  add_member(out, "is_still", film.is_still);
  add_member(out, "frames", film.frames);
  add_member(out, "corrupt_frames", film.corrupt_frames);
  add_member(out, "repaired_times", film.repaired_times);
  add_member(out, "ended_early", film.ended_early);
  add_member(out, "duration_s", film.duration);
  add_member(out, "mean_rate_hz", film.mean_rate);
  add_member(out, "mean_brightness", film.mean_brightness);
  out.back() = '}';
}

void add_body(std::string& out, const BodyObservation& body) {
  add_member(out, "presence", body.presence);
  out += "\"body\":[";
  for (const LandmarkObservation& landmark : body.landmarks) {
    const std::array<float, 7> values = {landmark.position_px.x(),  landmark.position_px.y(),
                                         landmark.confidence,       landmark.regressed_px.x(),
                                         landmark.regressed_px.y(), landmark.depth_px,
                                         landmark.visibility};
    out += '[';
    for (const float value : values) {
      add_number(out, value);
      out += ',';
    }
    out += landmark.refined ? "1]," : "0],";
  }
  out.back() = ']';
  out += ',';
}

void add_disc(std::string& out, const DiscObservation& disc) {
  out += "\"disc\":{";
  add_member(out, "center_x_px", disc.center_px.x());
  add_member(out, "center_y_px", disc.center_px.y());
  add_member(out, "semi_major_px", disc.semi_major_px);
  add_member(out, "semi_minor_px", disc.semi_minor_px);
  add_member(out, "major_axis_angle_rad", disc.major_axis_angle);
  add_member(out, "center_standard_error_px", disc.center_standard_error_px);
  add_member(out, "semi_axis_standard_error_px", disc.semi_axis_standard_error_px);
  add_member(out, "support", disc.support);
  out.back() = '}';
  out += ',';
}

void add_frame(std::string& out, const FrameObservation& frame) {
  out += '{';
  add_member(out, "frame", frame.index);
  add_member(out, "time_s", frame.time);
  if (frame.body) add_body(out, *frame.body);
  if (frame.disc) add_disc(out, *frame.disc);
  out.back() = '}';
}

// ---- Reading. The first fault is kept; everything after it is passed over.
class Reader {
 public:
  Result<KeptObservation> read(std::string_view text, std::string_view file_name) {
    const auto each = [this](int depth, Json::parse_event_t event, Json& value) {
      return take(depth, event, value);
    };
    Json root;
    try {
      root = Json::parse(text, each);
    } catch (const Json::exception& error) {
      if (!fault_) add_fault("", std::string("this is not JSON: ") + error.what());
    } catch (const Stopped&) {
    }
    if (!fault_) read_root(root);
    if (fault_) {
      fault_->with_file(file_name);
      return fail(std::move(*fault_));
    }
    return std::move(kept_);
  }

 private:
  struct Stopped : std::exception {};

  // Frames are objects in the array "frames" of the root: read, then dropped from the tree.
  bool take(int depth, Json::parse_event_t event, Json& value) {
    constexpr int kDeepest = 6;
    if (depth > kDeepest) stop("", "is nested too deeply");
    if (depth == 1 && event == Json::parse_event_t::key) in_frames_ = value == "frames";
    if (!in_frames_) return true;
    if (depth != 2 || event != Json::parse_event_t::object_end) return true;
    if (kept_.clip.frames.size() >= kMostFrames) stop("frames", "has too many frames");
    read_frame(value);
    if (fault_) throw Stopped();
    return false;
  }

  [[noreturn]] void stop(std::string field, std::string message) {
    add_fault(std::move(field), std::move(message));
    throw Stopped();
  }

  void add_fault(std::string field, std::string message) {
    if (fault_) return;
    fault_ = Error{
        ErrorCode::Invalid, std::move(message), {}, "measure the clip again from its pictures", {}};
    fault_->place.field = std::move(field);
  }

  const Json* member(const Json& object, const std::string& path, const char* name) {
    const auto found = object.find(name);
    if (found != object.end()) return &*found;
    add_fault(path + name, "is missing");
    return nullptr;
  }

  double number(const Json& value, const std::string& field, double least, double most) {
    if (value.is_null()) return std::nan("");
    if (!value.is_number()) {
      add_fault(field, "must be a number");
      return 0;
    }
    const auto read = value.get<double>();
    if (!(read >= least && read <= most)) add_fault(field, "is out of its range");
    return read;
  }
  double number_of(const Json& object, const std::string& path, const char* name, double least,
                   double most) {
    const Json* value = member(object, path, name);
    return value == nullptr ? 0 : number(*value, path + name, least, most);
  }
  std::int64_t integer(const Json& object, const std::string& path, const char* name,
                       std::int64_t most) {
    const Json* value = member(object, path, name);
    if (value == nullptr) return 0;
    if (!value->is_number_integer() || value->get<double>() < 0 ||
        value->get<double>() > static_cast<double>(most)) {
      add_fault(path + name, "must be a whole number, 0 to " + std::to_string(most));
      return 0;
    }
    return value->get<std::int64_t>();
  }
  bool flag(const Json& object, const std::string& path, const char* name) {
    const Json* value = member(object, path, name);
    if (value == nullptr) return false;
    if (!value->is_boolean()) add_fault(path + name, "must be true or false");
    return value->is_boolean() && value->get<bool>();
  }
  std::string word(const Json& object, const std::string& path, const char* name) {
    constexpr std::size_t kLongest = 100;
    const Json* value = member(object, path, name);
    if (value == nullptr) return {};
    if (!value->is_string() || value->get_ref<const std::string&>().size() > kLongest) {
      add_fault(path + name, "must be a short text");
      return {};
    }
    return value->get<std::string>();
  }
  void only(const Json& object, const std::string& path, std::initializer_list<const char*> names) {
    for (const auto& [key, value] : object.items()) {
      bool known = false;
      for (const char* name : names) known = known || key == name;
      if (!known) add_fault(path + key.substr(0, 40), "is not a known key");
    }
  }

  float pixel(const Json& value, const std::string& field) {
    return static_cast<float>(number(value, field, -kLargestPixel, kLargestPixel));
  }

  void read_frame(const Json& value) {
    const std::string path = "frames[" + std::to_string(kept_.clip.frames.size()) + "].";
    only(value, path, {"frame", "time_s", "presence", "body", "disc"});
    FrameObservation frame;
    frame.index = integer(value, path, "frame", std::int64_t{1} << 40);
    frame.time = number_of(value, path, "time_s", -1e6, 1e6);
    if (!std::isfinite(frame.time)) add_fault(path + "time_s", "must be a number");
    if (!kept_.clip.frames.empty() && frame.index <= kept_.clip.frames.back().index) {
      add_fault(path + "frame", "must be larger than that of the frame before");
    }
    if (value.contains("body") || value.contains("presence")) {
      frame.body.emplace();
      frame.body->presence = static_cast<float>(number_of(value, path, "presence", 0, 1));
      if (const Json* body = member(value, path, "body")) {
        read_body(*body, path + "body", *frame.body);
      }
    }
    if (const auto disc = value.find("disc"); disc != value.end()) {
      read_disc(*disc, path + "disc.", frame.disc.emplace());
    }
    kept_.clip.frames.push_back(std::move(frame));
  }

  void read_body(const Json& value, const std::string& field, BodyObservation& body) {
    if (!value.is_array() || value.size() != body.landmarks.size()) {
      add_fault(field, "must be a list of " + std::to_string(body.landmarks.size()) + " landmarks");
      return;
    }
    for (std::size_t i = 0; i < body.landmarks.size(); ++i) {
      const Json& row = value[i];
      const std::string place = field + "[" + std::to_string(i) + "]";
      if (!row.is_array() || row.size() != kColumns) {
        add_fault(place, "must be a list of " + std::to_string(kColumns) + " numbers");
        return;
      }
      LandmarkObservation& landmark = body.landmarks[i];
      landmark.position_px = {pixel(row[0], place), pixel(row[1], place)};
      landmark.confidence = static_cast<float>(number(row[2], place, 0, 1));
      landmark.regressed_px = {pixel(row[3], place), pixel(row[4], place)};
      landmark.depth_px = pixel(row[5], place);
      landmark.visibility = static_cast<float>(number(row[6], place, 0, 1));
      landmark.refined = number(row[7], place, 0, 1) == 1;
    }
  }

  void read_disc(const Json& value, const std::string& path, DiscObservation& disc) {
    if (!value.is_object()) {
      add_fault(path, "must be an object");
      return;
    }
    only(value, path,
         {"center_x_px", "center_y_px", "semi_major_px", "semi_minor_px", "major_axis_angle_rad",
          "center_standard_error_px", "semi_axis_standard_error_px", "support"});
    const auto get = [&](const char* name, double least, double most) {
      return static_cast<float>(number_of(value, path, name, least, most));
    };
    disc.center_px = {get("center_x_px", -kLargestPixel, kLargestPixel),
                      get("center_y_px", -kLargestPixel, kLargestPixel)};
    disc.semi_major_px = get("semi_major_px", 0, kLargestPixel);
    disc.semi_minor_px = get("semi_minor_px", 0, kLargestPixel);
    disc.major_axis_angle = get("major_axis_angle_rad", -10, 10);
    disc.center_standard_error_px = get("center_standard_error_px", 0, kLargestPixel);
    disc.semi_axis_standard_error_px = get("semi_axis_standard_error_px", 0, kLargestPixel);
    disc.support = get("support", 0, 1);
  }

  void read_film(const Json& value) {
    const std::string path = "film.";
    only(value, path,
         {"source_width_px", "source_height_px", "scale", "codec", "container", "bit_depth",
          "quarter_turns", "variable_rate", "is_still", "frames", "corrupt_frames",
          "repaired_times", "ended_early", "duration_s", "mean_rate_hz", "mean_brightness"});
    constexpr std::int64_t kMost = std::int64_t{1} << 40;
    constexpr std::int64_t kMostPixels = 100'000;
    kinematics::FilmFacts& film = kept_.film;
    film.source_width_px = static_cast<int>(integer(value, path, "source_width_px", kMostPixels));
    film.source_height_px = static_cast<int>(integer(value, path, "source_height_px", kMostPixels));
    film.scale = number_of(value, path, "scale", 0, 1e3);
    film.codec = word(value, path, "codec");
    film.container = word(value, path, "container");
    film.bit_depth = static_cast<int>(integer(value, path, "bit_depth", 64));
    film.quarter_turns = static_cast<int>(integer(value, path, "quarter_turns", 3));
    film.variable_rate = flag(value, path, "variable_rate");
    film.is_still = flag(value, path, "is_still");
    film.frames = integer(value, path, "frames", kMost);
    film.corrupt_frames = integer(value, path, "corrupt_frames", kMost);
    film.repaired_times = integer(value, path, "repaired_times", kMost);
    film.ended_early = flag(value, path, "ended_early");
    film.duration = number_of(value, path, "duration_s", -1e6, 1e6);
    film.mean_rate = number_of(value, path, "mean_rate_hz", 0, 1e6);
    film.mean_brightness = number_of(value, path, "mean_brightness", 0, 1);
  }

  void read_root(const Json& root) {
    if (!root.is_object()) return add_fault("", "must be an object");
    only(root, "",
         {"schema", "width_px", "height_px", "frame_rate_hz", "people", "chosen_person",
          "frames_with_body", "frames_with_disc", "bar_turn_rad", "film", "landmarks", "columns",
          "frames"});
    const Json* schema = member(root, "", "schema");
    if (schema == nullptr || *schema != kSchema) add_fault("schema", "must be \"lintel-points-1\"");
    constexpr std::int64_t kMostPixels = 100'000;
    kept_.clip.width_px = static_cast<int>(integer(root, "", "width_px", kMostPixels));
    kept_.clip.height_px = static_cast<int>(integer(root, "", "height_px", kMostPixels));
    kept_.clip.nominal_rate = number_of(root, "", "frame_rate_hz", 0, 1e6);
    kept_.people = static_cast<int>(integer(root, "", "people", 1000));
    kept_.chosen_person = static_cast<int>(integer(root, "", "chosen_person", 1000));
    kept_.frames_with_body = integer(root, "", "frames_with_body", std::int64_t{1} << 40);
    kept_.frames_with_disc = integer(root, "", "frames_with_disc", std::int64_t{1} << 40);
    if (const Json* film = member(root, "", "film")) {
      if (film->is_object()) {
        read_film(*film);
      } else {
        add_fault("film", "must be an object");
      }
    }
    if (const auto turn = root.find("bar_turn_rad"); turn != root.end() && turn->is_object()) {
      only(*turn, "bar_turn_rad.", {"value", "standard_error"});
      kept_.turn_from_disc_pair = {number_of(*turn, "bar_turn_rad.", "value", -10, 10),
                                   number_of(*turn, "bar_turn_rad.", "standard_error", 0, 10)};
    }
    const Json* frames = member(root, "", "frames");
    // The frames themselves were taken out; anything that is left is no frame.
    if (frames != nullptr && (!frames->is_array() || !frames->empty())) {
      add_fault("frames", "must be a list of frames");
    }
    check_words(root, "landmarks", kinematics::kLandmarkCount, [](std::size_t i) {
      return std::string(kinematics::landmark_name(static_cast<Landmark>(i)));
    });
    check_words(root, "columns", kColumns,
                [](std::size_t i) { return std::string(kColumnNames[i]); });
  }

  template <typename Name>
  void check_words(const Json& root, const char* key, std::size_t count, const Name& name) {
    const Json* list = member(root, "", key);
    if (list == nullptr) return;
    if (!list->is_array() || list->size() != count) {
      return add_fault(key, "must be a list of " + std::to_string(count) + " words");
    }
    for (std::size_t i = 0; i < count; ++i) {
      if ((*list)[i] != name(i)) {
        return add_fault(std::string(key) + "[" + std::to_string(i) + "]",
                         "must be \"" + name(i) + "\"");
      }
    }
  }

  KeptObservation kept_;
  std::optional<Error> fault_;
  bool in_frames_ = false;
};

}  // namespace

std::string write_observation_json(const KeptObservation& kept) {
  std::string out = "{\"schema\":\"lintel-points-1\",";
  add_member(out, "width_px", kept.clip.width_px);
  add_member(out, "height_px", kept.clip.height_px);
  add_member(out, "frame_rate_hz", kept.clip.nominal_rate);
  add_member(out, "people", kept.people);
  add_member(out, "chosen_person", kept.chosen_person);
  add_member(out, "frames_with_body", kept.frames_with_body);
  add_member(out, "frames_with_disc", kept.frames_with_disc);
  if (kept.turn_from_disc_pair) {
    out += "\"bar_turn_rad\":{";
    add_member(out, "value", kept.turn_from_disc_pair->value);
    add_member(out, "standard_error", kept.turn_from_disc_pair->standard_error);
    out.back() = '}';
    out += ',';
  }
  out += '\n';
  add_film(out, kept.film);
  out += ",\n\"landmarks\":[";
  for (int i = 0; i < kinematics::kLandmarkCount; ++i) {
    out += "\"" + std::string(kinematics::landmark_name(static_cast<Landmark>(i))) + "\",";
  }
  out.back() = ']';
  out += ",\n\"columns\":[";
  for (const char* name : kColumnNames) out += std::string("\"") + name + "\",";
  out.back() = ']';
  out += ",\n\"frames\":[";
  for (const FrameObservation& frame : kept.clip.frames) {
    out += '\n';
    add_frame(out, frame);
    out += ',';
  }
  if (!kept.clip.frames.empty()) out.back() = '\n';
  out += "]}\n";
  return out;
}

Result<KeptObservation> read_observation_json(std::string_view text, std::string_view file_name) {
  if (text.size() > kLargestText) {
    Error error{ErrorCode::Limit, "the points are more than 512 MiB of text", {}, "", {}};
    error.with_file(file_name);
    return fail(std::move(error));
  }
  return Reader().read(text, file_name);
}

}  // namespace lintel::formats
