#include "reference/kinematics/mocap.h"

#include <fstream>
#include <sstream>
#include <stdexcept>

namespace lintel::testing {
namespace {

std::vector<std::string> cells_of(const std::string& line) {
  std::vector<std::string> cells;
  std::stringstream stream(line);
  for (std::string cell; std::getline(stream, cell, ',');) {
    while (!cell.empty() && (cell.back() == '\r' || cell.back() == ' ')) cell.pop_back();
    cells.push_back(cell);
  }
  return cells;
}

std::ifstream open(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("cannot open " + path);
  return file;
}

}  // namespace

std::string data_path(const std::string& name) {
  return std::string(LINTEL_SOURCE_DIR) + "/tests/data/" + name;
}

std::map<std::string, std::vector<double>> read_number_csv(const std::string& path) {
  std::ifstream file = open(path);
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> names = cells_of(line);
  std::map<std::string, std::vector<double>> columns;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = cells_of(line);
    for (std::size_t i = 0; i < cells.size(); ++i) columns[names[i]].push_back(std::stod(cells[i]));
  }
  return columns;
}

const Eigen::Vector3d& MocapClip::at(const std::string& name, std::size_t frame) const {
  return joint.at(name).at(frame);
}

Eigen::Vector3d MocapClip::mid(const std::string& name, std::size_t frame) const {
  return 0.5 * (at("left_" + name, frame) + at("right_" + name, frame));
}

MocapClip read_mocap(const std::string& stem) {
  std::ifstream file = open(data_path("mocap/" + stem + "-joints.csv"));
  std::string line;
  std::getline(file, line);
  MocapClip clip;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = cells_of(line);
    if (cells.size() != 5) continue;
    const double time = std::stod(cells[0]);
    if (clip.time.empty() || time != clip.time.back()) clip.time.push_back(time);
    clip.joint[cells[1]].emplace_back(std::stod(cells[2]), std::stod(cells[3]),
                                      std::stod(cells[4]));
  }
  Eigen::Vector3d lateral = Eigen::Vector3d::Zero();
  for (std::size_t i = 0; i < clip.time.size(); ++i) {
    lateral += clip.at("left_hip", i) - clip.at("right_hip", i);
  }
  lateral.y() = 0;
  clip.forward = lateral.normalized().cross(Eigen::Vector3d::UnitY());
  return clip;
}

std::map<std::string, double> read_repetition_row(const std::string& trial, int repetition) {
  std::ifstream file = open(data_path("mocap/reps.csv"));
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> names = cells_of(line);
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = cells_of(line);
    if (cells[0] != trial || std::stoi(cells[1]) != repetition) continue;
    std::map<std::string, double> row;
    for (std::size_t i = 1; i < cells.size(); ++i) row[names[i]] = std::stod(cells[i]);
    return row;
  }
  throw std::runtime_error("no such repetition");
}

FigureLengths bone_lengths(const MocapClip& clip) {
  FigureLengths out;
  out.shank = (clip.at("right_knee", 0) - clip.at("right_ankle", 0)).norm();
  out.thigh = (clip.at("right_hip", 0) - clip.at("right_knee", 0)).norm();
  out.trunk = (clip.mid("shoulder", 0) - clip.mid("hip", 0)).norm();
  out.inter_hip = (clip.at("right_hip", 0) - clip.at("left_hip", 0)).norm();
  out.inter_shoulder = (clip.at("right_shoulder", 0) - clip.at("left_shoulder", 0)).norm();
  return out;
}

std::vector<Figure3d> MocapClip::figures() const {
  using namespace kinematics;
  Eigen::Vector3d origin = Eigen::Vector3d::Zero();
  for (const auto& p : joint.at("pelvis")) origin += p / static_cast<double>(time.size());
  origin.y() = 0;
  std::vector<Figure3d> out;
  for (std::size_t i = 0; i < time.size(); ++i) {
    const auto world = [&](const Eigen::Vector3d& p) {
      const Eigen::Vector3d d = p - origin;
      return Eigen::Vector3d(forward.dot(d), d.y(), right().dot(d));
    };
    Figure3d figure;
    for (auto& p : figure.landmark) p = world(at("pelvis", i));
    for (const BodySide side : {BodySide::Left, BodySide::Right}) {
      const std::string prefix = side == BodySide::Left ? "left_" : "right_";
      const auto set = [&](PairedLandmark l, const std::string& name) {
        figure[landmark_of(l, side)] = world(at(prefix + name, i));
      };
      set(PairedLandmark::Shoulder, "shoulder");
      set(PairedLandmark::Elbow, "elbow");
      set(PairedLandmark::Wrist, "wrist");
      set(PairedLandmark::Hip, "hip");
      set(PairedLandmark::Knee, "knee");
      set(PairedLandmark::Ankle, "ankle");
      set(PairedLandmark::Toe, "toe_base");
      // Not in the data: a heel behind and below the ankle, ears beside the head.
      const Eigen::Vector3d ankle = world(at(prefix + "ankle", i));
      const Eigen::Vector3d toe = world(at(prefix + "toe_base", i));
      Eigen::Vector3d back = ankle - toe;
      back.y() = 0;
      figure[landmark_of(PairedLandmark::Heel, side)] =
          ankle + 0.05 * back.normalized() - Eigen::Vector3d(0, 0.05, 0);
      figure[landmark_of(PairedLandmark::Ear, side)] =
          world(at("head_base", i)) +
          Eigen::Vector3d(0, 0.05, side == BodySide::Right ? 0.07 : -0.07);
    }
    figure[Landmark::Nose] = world(at("head_base", i)) + Eigen::Vector3d(0.11, 0.05, 0);
    out.push_back(figure);
  }
  return out;
}

}  // namespace lintel::testing
