#include "app/figure.h"

#include <cmath>

namespace lintel::app {
namespace {

using view::FigureJoint;
using view::FigurePoint;

}  // namespace

view::Figure figure_of(const posture::Posture& p, double disc_diameter) {
  view::Figure figure;
  figure.trunk_inclination = p.trunk_inclination;
  figure.shank_inclination = p.shank_inclination;
  figure.shoulder_elevation = p.shoulder_elevation;
  figure.depth = p.depth;
  figure.disc_radius = 0.5 * disc_diameter;
  const double middle = p.p_WMidFoot.x();
  const auto set = [&](FigureJoint joint, const Eigen::Vector3d& at) {
    figure.joints[static_cast<std::size_t>(joint)] = {at.x() - middle, at.y()};
  };
  set(FigureJoint::Heel, p.p_WHeel);
  set(FigureJoint::Toe, p.p_WToe);
  // The heel stands on its wedge: the sole turns about the ball of the foot.
  constexpr double kBallOfFoot = 0.73;
  const double length = p.p_WToe.x() - p.p_WHeel.x();
  figure.joints[static_cast<std::size_t>(FigureJoint::Heel)].y +=
      length * std::sin(p.foot_pitch) * kBallOfFoot;
  set(FigureJoint::Ankle, p.p_WAnkle);
  set(FigureJoint::Knee, p.p_WKnee);
  set(FigureJoint::Hip, p.p_WHip);
  set(FigureJoint::Lumbar, p.p_WLumbar);
  set(FigureJoint::Thorax, p.p_WThorax);
  set(FigureJoint::Shoulder, p.p_WShoulder);
  set(FigureJoint::Elbow, p.p_WElbow);
  set(FigureJoint::Wrist, p.p_WWrist);
  set(FigureJoint::Hand, p.p_WHand);
  set(FigureJoint::Bar, p.p_WBar);
  set(FigureJoint::Vertex, p.p_WVertex);
  set(FigureJoint::Head, 0.5 * (p.p_WVertex + 0.5 * (p.p_WShoulder + p.p_WVertex)));
  const auto add = [&](std::string_view name, std::initializer_list<FigureJoint> joints) {
    view::FigureSegment segment{name, {}};
    for (const FigureJoint joint : joints) segment.points.push_back(figure.at(joint));
    figure.segments.push_back(std::move(segment));
  };
  add("foot", {FigureJoint::Heel, FigureJoint::Ankle, FigureJoint::Toe, FigureJoint::Heel});
  add("shank", {FigureJoint::Ankle, FigureJoint::Knee});
  add("thigh", {FigureJoint::Knee, FigureJoint::Hip});
  add("pelvis", {FigureJoint::Hip, FigureJoint::Lumbar});
  add("lumbar", {FigureJoint::Lumbar, FigureJoint::Thorax});
  add("trunk", {FigureJoint::Thorax, FigureJoint::Shoulder});
  add("head", {FigureJoint::Shoulder, FigureJoint::Vertex});
  add("upper_arm", {FigureJoint::Shoulder, FigureJoint::Elbow});
  add("forearm", {FigureJoint::Elbow, FigureJoint::Wrist, FigureJoint::Hand});
  return figure;
}

}  // namespace lintel::app
