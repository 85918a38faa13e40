// A small single-precision vector for the renderer's inner loops.
#pragma once

#include <cmath>

#include <Eigen/Core>

namespace lintel::demo {

struct Vec {
  float x = 0, y = 0, z = 0;
};
inline Vec operator+(Vec a, Vec b) {
  return {a.x + b.x, a.y + b.y, a.z + b.z};
}
inline Vec operator-(Vec a, Vec b) {
  return {a.x - b.x, a.y - b.y, a.z - b.z};
}
inline Vec operator-(Vec a) {
  return {-a.x, -a.y, -a.z};
}
inline Vec operator*(Vec a, float s) {
  return {a.x * s, a.y * s, a.z * s};
}
inline Vec operator*(float s, Vec a) {
  return a * s;
}
inline float dot(Vec a, Vec b) {
  return a.x * b.x + a.y * b.y + a.z * b.z;
}
inline Vec cross(Vec a, Vec b) {
  return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline float length(Vec a) {
  return std::sqrt(dot(a, a));
}
inline Vec normalized(Vec a) {
  return a * (1.0F / length(a));
}
inline float clamp01(float v) {
  return v < 0 ? 0 : (v > 1 ? 1 : v);
}
inline float mix(float a, float b, float s) {
  return a + (b - a) * s;
}
inline Vec mix(Vec a, Vec b, float s) {
  return a + (b - a) * s;
}
inline float smoothstep(float a, float b, float x) {
  const float t = clamp01((x - a) / (b - a));
  return t * t * (3 - 2 * t);
}
inline Vec to_vec(const Eigen::Vector3d& p) {
  return {static_cast<float>(p.x()), static_cast<float>(p.y()), static_cast<float>(p.z())};
}

}  // namespace lintel::demo
