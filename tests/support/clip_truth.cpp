#include "support/clip_truth.h"

#include <fstream>
#include <limits>

#include <nlohmann/json.hpp>

namespace lintel::test {
namespace {

using kinematics::Channel;

void set(TrueFrame& frame, Channel channel, double value) {
  frame.channels[static_cast<std::size_t>(channel)] = value;
}

TrueFrame read_frame(const nlohmann::json& json) {
  TrueFrame frame;
  frame.channels.fill(std::numeric_limits<double>::quiet_NaN());
  frame.time = json.at("time_s");
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    const auto channel = static_cast<Channel>(c);
    const std::string name(kinematics::channel_info(channel).name);
    if (json.at("angles_deg").contains(name + "_deg")) {
      set(frame, channel,
          json.at("angles_deg").at(name + "_deg").get<double>() * kRadiansPerDegree);
    } else if (json.contains(name + "_m")) {
      set(frame, channel, json.at(name + "_m").get<double>());
    }
  }
  return frame;
}

}  // namespace

Result<ClipTruth> read_clip_truth(const std::filesystem::path& file) {
  std::ifstream in(file);
  if (!in) return fail(ErrorCode::NotFound, "no truth file " + file.string());
  try {
    const nlohmann::json json = nlohmann::json::parse(in);
    ClipTruth truth;
    truth.name = json.at("name");
    truth.view = json.at("camera").at("view");
    truth.yaw = json.at("camera").at("yaw_deg").get<double>() * kRadiansPerDegree;
    truth.roll = json.at("camera").at("roll_deg").get<double>() * kRadiansPerDegree;
    truth.has_disc = json.at("bar").contains("disc_diameter_m");
    if (truth.has_disc) truth.disc_diameter = json.at("bar").at("disc_diameter_m");
    for (const auto& r : json.at("repetitions")) {
      truth.repetitions.push_back({r.at("start_s"), r.at("bottom_start_s"), r.at("bottom_s"),
                                   r.at("bottom_end_s"), r.at("end_s"),
                                   r.at("outcome") == "completed"});
    }
    for (const auto& f : json.at("frames")) truth.frames.push_back(read_frame(f));
    return truth;
  } catch (const std::exception& error) {
    return fail(ErrorCode::Invalid, file.string() + ": " + error.what());
  }
}

}  // namespace lintel::test
