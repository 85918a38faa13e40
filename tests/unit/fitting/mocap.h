// The open motion-capture squats as bodies of `scene.h`: X forward, Y up, Z to the athlete's right.
#pragma once

#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "unit/fitting/scene.h"

namespace lintel::fitting::testing {

struct MocapSquat {
  std::vector<double> times;
  std::vector<Body3d> bodies;
  std::vector<double> trunk, left_shank, right_shank, left_thigh, right_thigh;  // [rad] sagittal
  std::vector<double> left_thigh_3d, right_thigh_3d, left_knee_3d, right_knee_3d;
  Lifter lifter;  // lengths of the subject's own skeleton
};

inline std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells;
  std::stringstream stream(line);
  for (std::string cell; std::getline(stream, cell, ',');) cells.push_back(cell);
  return cells;
}

// Empty `times` when the files are not there. `every`: keep each n-th frame of 120 Hz.
inline MocapSquat read_mocap(const std::string& folder, const std::string& name, double forward_x,
                             double forward_z, int every) {
  MocapSquat out;
  std::ifstream joints(folder + "/squat-" + name + "-joints.csv");
  std::ifstream angles(folder + "/squat-" + name + "-angles.csv");
  if (!joints || !angles) return out;
  std::string line;
  std::getline(joints, line);
  std::map<double, std::map<std::string, Eigen::Vector3d>> frames;
  while (std::getline(joints, line)) {
    const auto c = cells_of(line);
    const double x = std::stod(c[2]), y = std::stod(c[3]), z = std::stod(c[4]);
    frames[std::stod(c[0])][c[1]] = {x * forward_x + z * forward_z, y,
                                     -x * forward_z + z * forward_x};
  }
  std::getline(angles, line);
  const auto head = cells_of(line);
  const auto column = [&](const std::string& title) {
    return static_cast<std::size_t>(std::find(head.begin(), head.end(), title) - head.begin());
  };
  int index = -1;
  Eigen::Vector3d origin(0, 0, 0);
  for (const auto& [time, joint] : frames) {
    std::getline(angles, line);
    if (++index == 0) origin = 0.5 * (joint.at("left_ankle") + joint.at("right_ankle"));
    if (index % every != 0) continue;
    const auto c = cells_of(line);
    const auto limb = [&](const std::string& side) {
      const auto at = [&](const std::string& name_of) {
        Eigen::Vector3d p = joint.at(side + name_of) - origin;
        p.y() += origin.y();
        return p;
      };
      Limb l;
      l.shoulder = at("shoulder");
      l.elbow = at("elbow");
      l.wrist = at("wrist");
      l.hip = at("hip");
      l.knee = at("knee");
      l.ankle = at("ankle");
      // The capture has no heel: put one behind and below the ankle, rigid with the foot.
      const Eigen::Vector3d foot = at("toe_base") - l.ankle;
      const Eigen::Vector3d lateral(0, 0, 1);
      const Eigen::Vector3d down = foot.cross(lateral).normalized();
      const Eigen::Vector3d along = foot.normalized();
      l.heel = l.ankle - 0.03 * along + 0.055 * (down.y() < 0 ? down : -down);
      l.toe = at("toe_base") + 0.2 * (at("toe_tip") - at("toe_base"));
      return l;
    };
    out.times.push_back(time);
    out.bodies.push_back({limb("left_"), limb("right_"), {}});
    const auto angle = [&](const std::string& title) {
      return std::stod(c[column(title)]) * kDegree;
    };
    out.trunk.push_back(angle("trunk_sagittal_deg"));
    out.left_shank.push_back(angle("left_shank_sagittal_deg"));
    out.right_shank.push_back(angle("right_shank_sagittal_deg"));
    out.left_thigh.push_back(angle("left_thigh_sagittal_deg"));
    out.right_thigh.push_back(angle("right_thigh_sagittal_deg"));
    out.left_thigh_3d.push_back(angle("left_thigh_3d_deg"));
    out.right_thigh_3d.push_back(angle("right_thigh_3d_deg"));
    out.left_knee_3d.push_back(angle("left_knee_flexion_3d_deg"));
    out.right_knee_3d.push_back(angle("right_knee_flexion_3d_deg"));
  }
  const Body3d& first = out.bodies.front();
  Lifter& l = out.lifter;
  l.shank = (first.left.knee - first.left.ankle).norm();
  l.thigh = (first.left.hip - first.left.knee).norm();
  l.trunk = (0.5 * (first.left.shoulder + first.right.shoulder) -
             0.5 * (first.left.hip + first.right.hip))
                .norm();
  l.upper_arm = (first.left.elbow - first.left.shoulder).norm();
  l.forearm = (first.left.wrist - first.left.elbow).norm();
  l.inter_hip = (first.left.hip - first.right.hip).norm();
  l.inter_shoulder = (first.left.shoulder - first.right.shoulder).norm();
  l.ankle_height = 0.087;
  return out;
}

}  // namespace lintel::fitting::testing
