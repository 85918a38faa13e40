// What pulls on the skeleton: residuals, each divided by its standard deviation. Plain templates;
// solve.cpp hands them to the solver.
#pragma once

#include "fitting/model.h"

namespace lintel::fitting {

// A landmark against its model point [px / px].
struct LandmarkResidual {
  static constexpr int kRows = 2;
  static constexpr bool kHasOffset = true;
  FittedLandmark landmark;
  double side;  // +1 near, -1 far
  Eigen::Vector2d seen_px;
  double deviation_px;
  const ModelConstants* constants;

  template <typename T>
  void operator()(const T* q, const T* g, const T* o, T* r) const {
    const Vector3<T> p = landmark_point(landmark, side, q, g, o, *constants);
    const Vector2<T> u = project(camera_of(g, *constants), p);
    r[0] = (u.x() - seen_px.x()) / deviation_px;
    r[1] = (u.y() - seen_px.y()) / deviation_px;
  }
};

// Centre and shape of the near disc. The shape goes in as the matrix S, which stays smooth at a
// circle, where the axes do not.
struct DiscResidual {
  static constexpr int kRows = 5;
  static constexpr bool kHasOffset = false;
  Eigen::Vector2d center_px;
  double sxx, sxy, syy;  // [px^2]
  double center_deviation_px;
  double shape_deviation;  // [px^2] = 2 * semi-axis * its standard error
  const ModelConstants* constants;

  template <typename T>
  void operator()(const T* q, const T* g, const T* /*o*/, T* r) const {
    Chain<T> chain(q, g, *constants);
    chain.place_all();
    const DiscPicture<T> picture = project_disc(chain.bar(), g, *constants);
    r[0] = (picture.center.x() - center_px.x()) / center_deviation_px;
    r[1] = (picture.center.y() - center_px.y()) / center_deviation_px;
    r[2] = (picture.sxx - sxx) / shape_deviation;
    r[3] = (picture.sxy - sxy) * 1.4142135623730951 / shape_deviation;
    r[4] = (picture.syy - syy) / shape_deviation;
  }
};

// Knees track over the feet, plus a part that grows with flexion and is the athlete's own.
struct TrackingResidual {
  static constexpr int kRows = 1;
  static constexpr bool kHasOffset = false;
  double deviation;
  const ModelConstants* constants;

  template <typename T>
  void operator()(const T* q, const T* g, const T* /*o*/, T* r) const {
    using std::tan;
    Chain<T> chain(q, g, *constants);
    chain.place_foot();
    chain.place_knee();
    const T over_foot =
        chain.ankle.z() + tan(g[at(GlobalQuantity::ToeOut)]) * (chain.knee.x() - chain.ankle.x());
    r[0] = (chain.knee.z() - over_foot - flexion_share(q) * g[at(GlobalQuantity::KneeOut)]) /
           deviation;
  }
};

// Slow movement: the centre of mass stays over its place on the foot.
struct BalanceResidual {
  static constexpr int kRows = 1;
  static constexpr bool kHasOffset = false;
  double deviation;
  const MassModel* masses;
  const ModelConstants* constants;

  template <typename T>
  void operator()(const T* q, const T* g, const T* /*o*/, T* r) const {
    Chain<T> chain(q, g, *constants);
    chain.place_all();
    const Vector2<T> center = center_of_mass(chain, q, *masses, *constants);
    r[0] = (center.x() - chain.mid_foot() - g[at(GlobalQuantity::BalancePlace)]) / deviation;
  }
};

}  // namespace lintel::fitting
