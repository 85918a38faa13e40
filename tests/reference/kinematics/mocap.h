// Reads tests/data/mocap (see its README for source and terms).
#pragma once

#include <map>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <Eigen/Geometry>

#include "unit/kinematics/figure.h"

namespace lintel::testing {

struct MocapClip {
  std::vector<double> time;                                   // [s]
  std::map<std::string, std::vector<Eigen::Vector3d>> joint;  // as in the file, y up [m]
  Eigen::Vector3d forward = Eigen::Vector3d::UnitZ();         // level unit vector
  Eigen::Vector3d right() const { return forward.cross(Eigen::Vector3d::UnitY()); }
  // Mid of left and right joint.
  Eigen::Vector3d mid(const std::string& name, std::size_t frame) const;
  const Eigen::Vector3d& at(const std::string& name, std::size_t frame) const;
  // X forward, Y up.
  Eigen::Vector2d sagittal(const Eigen::Vector3d& p) const { return {forward.dot(p), p.y()}; }
  // Landmarks in W, origin under the mean pelvis.
  std::vector<Figure3d> figures() const;
};

// Columns of a CSV file with a header; every value a number.
std::map<std::string, std::vector<double>> read_number_csv(const std::string& path);
// "squat-13_29-rep1" etc. The forward direction from the hips, as the README says.
MocapClip read_mocap(const std::string& stem);
std::string data_path(const std::string& name);
// tests/data/mocap/reps.csv, one row.
std::map<std::string, double> read_repetition_row(const std::string& trial, int repetition);
// Bone lengths of the subject, right side.
FigureLengths bone_lengths(const MocapClip& clip);

}  // namespace lintel::testing
