#include "demo/lifter.h"

#include <algorithm>
#include <cmath>

#include "base/random.h"

namespace lintel::demo {

namespace {
constexpr double kSole = 0.022;  // thickness of the shoe's sole under the heel [m], chosen
}

Lengths mean_lengths(double stature) {
  Lengths l;
  l.stature = stature;
  l.shank = 0.246 * stature;
  l.thigh = 0.245 * stature;
  l.trunk = 0.288 * stature;
  l.shoulder_raise = 0.018 * stature;  // own estimate, no source
  l.upper_arm = 0.186 * stature;
  l.forearm = 0.146 * stature;
  l.grip = 0.040 * stature;
  l.head_neck = 0.182 * stature;
  l.foot = 0.152 * stature;
  l.heel_to_ankle = 0.19 * l.foot;
  l.ankle_height = 0.039 * stature + kSole;
  l.inter_hip = 0.107 * stature;
  l.inter_shoulder = 0.208 * stature;
  return l;
}

Lengths varied_lengths(double stature, double spread, std::uint64_t seed) {
  Lengths l = mean_lengths(stature);
  Random random(seed, 0x1e9);
  const auto vary = [&](double& length) {
    length *= 1.0 + spread * std::clamp(random.normal(), -2.0, 2.0);
  };
  for (double* length : {&l.shank, &l.thigh, &l.trunk, &l.head_neck, &l.upper_arm, &l.forearm,
                         &l.foot, &l.inter_hip, &l.inter_shoulder}) {
    vary(*length);
  }
  l.heel_to_ankle = 0.19 * l.foot;
  const double bare_ankle = l.ankle_height - kSole;
  const double scale = (stature - bare_ankle) / (l.shank + l.thigh + l.trunk + l.head_neck);
  for (double* length : {&l.shank, &l.thigh, &l.trunk, &l.head_neck}) *length *= scale;
  return l;
}

const MassTable& mass_table(Sex sex) {
  // Head: 0.60 of the way from mid-shoulder to vertex is about the ear, own estimate.
  static constexpr MassTable kMale{{0.0694, 0.60},   {0.4346, 0.4310}, {0.0271, 0.5772},
                                   {0.0162, 0.4574}, {0.0061, 0.79},   {0.1416, 0.4095},
                                   {0.0433, 0.4395}, {0.0137, 0.4415}};
  static constexpr MassTable kFemale{{0.0668, 0.60},   {0.4257, 0.3782}, {0.0255, 0.5754},
                                     {0.0138, 0.4559}, {0.0056, 0.7474}, {0.1478, 0.3612},
                                     {0.0481, 0.4352}, {0.0129, 0.4014}};
  return sex == Sex::Male ? kMale : kFemale;
}

Color srgb(int r, int g, int b) {
  const auto linear = [](int v) { return std::pow(static_cast<float>(v) / 255.0F, 2.2F); };
  return {linear(r), linear(g), linear(b)};
}

Look look_by_name(const std::string& name) {
  Look k;
  if (name == "buoy") {  // light skin, orange shirt, navy shorts
    k = {srgb(226, 178, 148), srgb(222, 104, 48), srgb(34, 52, 88),
         srgb(236, 236, 230), srgb(60, 66, 72),   srgb(120, 62, 34),
         srgb(240, 240, 238), srgb(186, 96, 92),  HairStyle::Bun};
  } else if (name == "kelp") {  // dark skin, yellow shirt, green shorts
    k = {srgb(112, 72, 50),   srgb(236, 190, 70),  srgb(30, 84, 72),
         srgb(40, 44, 54),    srgb(235, 232, 220), srgb(24, 20, 20),
         srgb(238, 238, 236), srgb(128, 62, 58),   HairStyle::Cropped};
  } else if (name == "dusk") {  // dark skin, white shirt, wine shorts
    k = {srgb(138, 92, 64), srgb(232, 232, 226), srgb(118, 34, 60),
         srgb(28, 96, 140), srgb(240, 236, 226), srgb(28, 22, 22),
         srgb(40, 40, 46),  srgb(142, 72, 70),   HairStyle::Bun};
  } else if (name == "slate") {  // light skin, grey-blue shirt, black shorts
    k = {srgb(216, 166, 134), srgb(92, 122, 152),  srgb(26, 28, 32),
         srgb(190, 52, 44),   srgb(242, 240, 234), srgb(196, 150, 82),
         srgb(236, 236, 234), srgb(176, 92, 86),   HairStyle::Short};
  } else if (name == "sand") {  // medium skin, teal shirt, sand shorts
    k = {srgb(188, 134, 100), srgb(24, 128, 132), srgb(206, 180, 130),
         srgb(48, 52, 60),    srgb(226, 120, 50), srgb(48, 32, 24),
         srgb(236, 236, 232), srgb(160, 84, 78),  HairStyle::Short};
  } else {  // "harbor": light skin, sea-blue shirt, dark shorts, red shoes
    k = {srgb(222, 172, 140), srgb(36, 104, 178),  srgb(36, 38, 48),
         srgb(200, 58, 46),   srgb(244, 242, 236), srgb(74, 46, 30),
         srgb(240, 240, 238), srgb(180, 94, 90),   HairStyle::Short};
  }
  return k;
}

}  // namespace lintel::demo
