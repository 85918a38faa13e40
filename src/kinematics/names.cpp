#include <array>

#include "kinematics/measurement.h"
#include "kinematics/observation.h"

namespace lintel::kinematics {

std::string_view landmark_name(Landmark landmark) {
  static constexpr std::array<std::string_view, kLandmarkCount> kNames = {"nose",
                                                                          "left_eye_inner",
                                                                          "left_eye",
                                                                          "left_eye_outer",
                                                                          "right_eye_inner",
                                                                          "right_eye",
                                                                          "right_eye_outer",
                                                                          "left_ear",
                                                                          "right_ear",
                                                                          "left_mouth",
                                                                          "right_mouth",
                                                                          "left_shoulder",
                                                                          "right_shoulder",
                                                                          "left_elbow",
                                                                          "right_elbow",
                                                                          "left_wrist",
                                                                          "right_wrist",
                                                                          "left_little_knuckle",
                                                                          "right_little_knuckle",
                                                                          "left_index_knuckle",
                                                                          "right_index_knuckle",
                                                                          "left_thumb",
                                                                          "right_thumb",
                                                                          "left_hip",
                                                                          "right_hip",
                                                                          "left_knee",
                                                                          "right_knee",
                                                                          "left_ankle",
                                                                          "right_ankle",
                                                                          "left_heel",
                                                                          "right_heel",
                                                                          "left_toe",
                                                                          "right_toe"};
  return kNames[static_cast<std::size_t>(landmark)];
}

const ChannelInfo& channel_info(Channel channel) {
  constexpr auto kRadian = ChannelUnit::Radian;
  constexpr auto kMetre = ChannelUnit::Metre;
  static constexpr std::array<ChannelInfo, kChannelCount> kInfo = {{
      {"trunk_inclination", "trunk inclination", kRadian},
      {"thigh_inclination", "thigh inclination", kRadian},
      {"shank_inclination", "shank inclination", kRadian},
      {"foot_inclination", "foot inclination", kRadian},
      {"arm_inclination", "arm inclination", kRadian},
      {"ankle_dorsiflexion", "ankle dorsiflexion", kRadian},
      {"knee_flexion", "knee flexion", kRadian},
      {"hip_flexion", "hip flexion", kRadian},
      {"shoulder_elevation", "shoulder elevation", kRadian},
      {"elbow_flexion", "elbow flexion", kRadian},
      {"heel_lift", "heel lift", kMetre},
      {"depth", "depth, hip below knee", kMetre},
      {"hip_height", "hip height", kMetre},
      {"bar_x", "bar ahead of mid-foot", kMetre},
      {"bar_y", "bar height", kMetre},
      {"center_of_mass_x", "center of mass ahead of mid-foot", kMetre},
      {"center_of_mass_y", "center of mass height", kMetre},
  }};
  return kInfo[static_cast<std::size_t>(channel)];
}

std::string_view warning_code_name(WarningCode code) {
  switch (code) {
    case WarningCode::CameraTurned:
      return "camera_turned";
    case WarningCode::CameraTurnCorrected:
      return "camera_turn_corrected";
    case WarningCode::CameraRolled:
      return "camera_rolled";
    case WarningCode::NoDisc:
      return "no_disc";
    case WarningCode::DiscLost:
      return "disc_lost";
    case WarningCode::BodyLost:
      return "body_lost";
    case WarningCode::BodyLeavesPicture:
      return "body_leaves_picture";
    case WarningCode::ThighForeshortened:
      return "thigh_foreshortened";
    case WarningCode::HeelsLift:
      return "heels_lift";
    case WarningCode::LowFrameRate:
      return "low_frame_rate";
    case WarningCode::SeveralPeople:
      return "several_people";
    case WarningCode::NoRepetition:
      return "no_repetition";
    case WarningCode::ScaleFromStature:
      return "scale_from_stature";
    case WarningCode::ArmLineFromWrist:
      return "arm_line_from_wrist";
    case WarningCode::PoorLight:
      return "poor_light";
    case WarningCode::SideSwapped:
      return "side_swapped";
    case WarningCode::StillPicture:
      return "still_picture";
    case WarningCode::UpsideDown:
      return "upside_down";
    case WarningCode::ClipDamaged:
      return "clip_damaged";
    case WarningCode::DiscHidesBody:
      return "disc_hides_body";
    case WarningCode::CorrectedByHand:
      return "corrected_by_hand";
  }
  return "unknown";
}

std::string_view repetition_moment_name(RepetitionMoment moment) {
  switch (moment) {
    case RepetitionMoment::Start:
      return "start";
    case RepetitionMoment::Bottom:
      return "bottom";
    case RepetitionMoment::End:
      return "end";
  }
  return "unknown";
}

}  // namespace lintel::kinematics
