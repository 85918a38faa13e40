#include "demo/figure.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <Eigen/Geometry>

namespace lintel::demo {

namespace {

enum MaterialIndex : std::uint8_t {
  kSkin,
  kShirt,
  kShorts,
  kShoe,
  kSole,
  kHair,
  kSock,
  kLips,
  kEyeWhite,
  kIris,
  kBrow,
  kMaterials
};
enum Group : std::uint8_t {
  kTrunk,
  kRightLeg,
  kLeftLeg,
  kRightArm,
  kLeftArm,
  kHead,
  kFace,
  kHairGroup,
  kRightShoe,
  kLeftShoe,
  kRightSole,
  kLeftSole,
  kGroups
};
// How softly each group melts into what comes before it [m].
constexpr std::array<float, kGroups> kJoin = {0.0F,   0.030F, 0.030F, 0.045F, 0.045F, 0.018F,
                                              0.003F, 0.006F, 0.004F, 0.004F, 0.0F,   0.0F};

struct Frame {
  Vec front, up, side;
};

class Builder {
 public:
  Builder(const Lifter& lifter, const Skeleton& skeleton)
      : lifter_(lifter), k_(skeleton), f_(static_cast<float>(lifter.lengths.stature / 1.75)) {}

  std::vector<Primitive> primitives;

  void build() {
    const bool female = lifter_.sex == Sex::Female;
    limb_ = female ? 0.92F : 1.0F;
    waist_ = female ? 0.88F : 1.0F;
    breadth_ = female ? 0.90F : 1.0F;
    trunk();
    for (int side : {kLeft, kRight}) {
      leg(side);
      foot(side);
      arm(side);
    }
    head();
  }

 private:
  Primitive& capsule(int group, int material, Vec a, Vec b, float ra, float rb, float blend) {
    Primitive q;
    q.group = static_cast<std::uint8_t>(group);
    q.material = static_cast<std::uint8_t>(material);
    q.a = a;
    q.b = b;
    q.ra = ra * f_;
    q.rb = rb * f_;
    q.blend = blend;
    primitives.push_back(q);
    return primitives.back();
  }
  void cloth(Primitive& q, float cut, float thickness, int beyond) {
    q.cut = cut;
    q.cloth = thickness;
    q.material_beyond = static_cast<std::uint8_t>(beyond);
  }
  Primitive& ellipsoid(int group, int material, Vec c, const Frame& frame, Vec radii, float blend) {
    Primitive q;
    q.shape = Shape::Ellipsoid;
    q.group = static_cast<std::uint8_t>(group);
    q.material = static_cast<std::uint8_t>(material);
    q.a = q.b = c;
    q.r = radii * f_;
    q.u = frame.front;
    q.v = frame.up;
    q.w = frame.side;
    q.blend = blend;
    primitives.push_back(q);
    return primitives.back();
  }
  void slab(int group, Vec a, Vec b, float ra, float rb, float half_thickness, Vec up) {
    Primitive q;
    q.shape = Shape::Slab;
    q.group = static_cast<std::uint8_t>(group);
    q.material = kSole;
    q.a = a;
    q.b = b;
    q.ra = ra * f_;
    q.rb = rb * f_;
    q.r = {half_thickness, 0, 0};
    q.w = up;
    q.blend = 0.004F;
    primitives.push_back(q);
  }
  static Frame leaning(double angle) {
    const auto s = static_cast<float>(std::sin(angle));
    const auto c = static_cast<float>(std::cos(angle));
    return {{c, -s, 0}, {s, c, 0}, {0, 0, 1}};
  }
  // A point given by offsets in a frame, scaled with the stature.
  Vec at(Vec origin, const Frame& frame, float front, float up, float side) const {
    return origin + frame.front * (front * f_) + frame.up * (up * f_) + frame.side * (side * f_);
  }
  static float sign(int side) { return side == kRight ? 1.0F : -1.0F; }

  void trunk();
  void leg(int side);
  void foot(int side);
  void arm(int side);
  void hand(const Limbs& limb, int group, int side);
  void head();
  void hair(const Frame& frame, Vec c);

  const Lifter& lifter_;
  const Skeleton& k_;
  float f_;
  float limb_ = 1, waist_ = 1, breadth_ = 1;
};

void Builder::trunk() {
  const Frame t = leaning(k_.trunk_inclination);
  const Vec hip = to_vec(k_.mid_hip);
  const Vec shoulder = to_vec(k_.neck);  // the chest ends where the shoulders are at rest
  const Vec along = shoulder - hip;
  // Collar, below the neck.
  capsule(kTrunk, kShirt, at(shoulder, t, 0.004F, -0.012F, -0.05F),
          at(shoulder, t, 0.004F, -0.012F, 0.05F), 0.062F * limb_, 0.062F * limb_, 0.04F);
  for (int side : {kLeft, kRight}) {
    const float z = sign(side);
    const Vec p0 = at(hip, t, -0.005F, 0.03F, 0.068F * z);
    const Vec p1 = at(hip + along * 0.42F, t, 0.002F, 0, 0.052F * z * waist_);
    const Vec p2 = at(hip + along * 0.76F, t, 0.008F, 0, 0.082F * z * breadth_);
    const Vec p3 = at(shoulder, t, -0.004F, -0.035F, 0.118F * z * breadth_);
    cloth(capsule(kTrunk, kShorts, p0, p1, 0.100F, 0.090F * waist_, 0.05F), 0.30F, 0.0F, kShirt);
    capsule(kTrunk, kShirt, p1, p2, 0.090F * waist_, 0.098F * breadth_, 0.05F);
    capsule(kTrunk, kShirt, p2, p3, 0.098F * breadth_, 0.070F, 0.05F);
    ellipsoid(kTrunk, kShorts, at(hip, t, -0.058F, -0.012F, 0.066F * z), t,
              {0.082F, 0.098F, 0.082F}, 0.05F);
    ellipsoid(kTrunk, kShirt, at(hip + along * 0.76F, t, 0.058F, 0.01F, 0.062F * z), t,
              {0.045F, 0.064F, 0.070F}, 0.04F);
    // Shoulder girdle, raised by the arms.
    const Vec joint = to_vec(k_.side[static_cast<std::size_t>(side)].shoulder);
    capsule(kTrunk, kShirt, at(shoulder, t, -0.012F, 0.012F, 0.040F * z),
            at(joint, t, -0.008F, -0.006F, -0.018F * z), 0.052F, 0.054F * limb_, 0.040F);
    capsule(kTrunk, kShirt, at(hip + along * 0.52F, t, -0.012F, 0, 0.085F * z * breadth_),
            at(joint, t, -0.012F, -0.055F, -0.030F * z), 0.058F * breadth_, 0.054F, 0.04F);
  }
}

void Builder::leg(int side) {
  const Limbs& limb = k_.side[static_cast<std::size_t>(side)];
  const int group = side == kRight ? kRightLeg : kLeftLeg;
  const Vec hip = to_vec(limb.hip);
  const Vec knee = to_vec(limb.knee);
  const Vec ankle = to_vec(limb.ankle);
  const Vec toes = to_vec(limb.foot_direction);
  const Vec shank = normalized(knee - ankle);
  const Vec shank_front = normalized(toes - shank * dot(toes, shank));
  const Frame lower{shank_front, shank, cross(shank_front, shank)};
  const Vec thigh = normalized(hip - knee);
  const Vec bend = normalized(cross(cross(thigh, shank_front), thigh));
  const Frame upper{bend, thigh, cross(bend, thigh)};
  Primitive& thigh_shape = capsule(group, kShorts, hip, knee, 0.090F, 0.054F * limb_, 0.03F);
  cloth(thigh_shape, 0.62F, 0.012F, kSkin);
  // Muscle in front of the thigh.
  Primitive& muscle =
      capsule(group, kShorts, at(hip + (knee - hip) * 0.25F, upper, 0.018F, 0, 0),
              at(hip + (knee - hip) * 0.80F, upper, 0.010F, 0, 0), 0.078F, 0.056F * limb_, 0.04F);
  cloth(muscle, 0.6727F, 0.012F, kSkin);
  ellipsoid(group, kSkin, at(knee, lower, 0.010F, 0.004F, 0), lower,
            {0.048F * limb_, 0.056F * limb_, 0.047F * limb_}, 0.03F);
  Primitive& shin = capsule(group, kSkin, knee, at(ankle, lower, -0.005F, 0, 0), 0.049F * limb_,
                            0.034F * limb_, 0.03F);
  shin.cut = 0.90F;
  shin.material_beyond = kSock;
  const Vec belly = knee + (ankle - knee) * 0.33F;
  ellipsoid(group, kSkin, at(belly, lower, -0.021F, 0, 0), lower,
            {0.045F * limb_, 0.120F, 0.048F * limb_}, 0.04F);
}

void Builder::foot(int side) {
  const Limbs& limb = k_.side[static_cast<std::size_t>(side)];
  const int group = side == kRight ? kRightShoe : kLeftShoe;
  const int sole_group = side == kRight ? kRightSole : kLeftSole;
  const auto length = static_cast<float>(lifter_.lengths.foot);
  const Vec d = to_vec(limb.foot_direction);
  const Vec flat = normalized(Vec{d.x, 0, d.z});
  const Vec side_axis = normalized(cross(flat, Vec{0, 1, 0}));
  const Vec n = cross(side_axis, d);  // up from the sole
  const Vec heel_ground = to_vec(limb.heel) - n * 0.035F;
  const Vec ball = to_vec(limb.ball);
  const Vec ankle = to_vec(limb.ankle);
  const float g = 0.022F;  // on top of the sole
  const Vec heel_in = heel_ground + d * (0.024F * f_);
  const Vec toe_in = ball + flat * (0.26F * length - 0.030F * f_);
  // Upper of the shoe.
  capsule(group, kShoe, heel_in + n * (g + 0.034F * f_), ball + n * (g + 0.016F), 0.035F, 0.038F,
          0.03F);
  capsule(group, kShoe, ball + n * (g + 0.016F), toe_in + Vec{0, g + 0.012F, 0}, 0.038F, 0.030F,
          0.025F);
  capsule(group, kShoe, ankle - n * (0.030F * f_) - d * (0.006F * f_),
          heel_in + n * (g + 0.026F) + d * (0.030F * f_), 0.041F, 0.039F, 0.030F);
  capsule(group, kShoe, ankle - n * (0.032F * f_) + d * (0.024F * f_), ball + n * (g + 0.022F),
          0.034F, 0.032F, 0.03F);
  slab(sole_group, heel_in + n * 0.011F, ball + n * 0.011F, 0.037F, 0.047F, 0.011F, n);
  slab(sole_group, ball + Vec{0, 0.011F, 0}, toe_in + Vec{0, 0.011F, 0}, 0.047F, 0.034F, 0.011F,
       {0, 1, 0});
}

void Builder::arm(int side) {
  const Limbs& limb = k_.side[static_cast<std::size_t>(side)];
  const int group = side == kRight ? kRightArm : kLeftArm;
  const Vec shoulder = to_vec(limb.shoulder);
  const Vec elbow = to_vec(limb.elbow);
  const Vec wrist = to_vec(limb.wrist);
  Primitive& upper = capsule(group, kShirt, shoulder, elbow, 0.056F * limb_, 0.039F * limb_, 0.03F);
  cloth(upper, 0.25F, 0.008F, kSkin);
  const Vec along = elbow - shoulder;
  capsule(group, kSkin, shoulder + along * 0.34F, shoulder + along * 0.66F, 0.043F * limb_,
          0.036F * limb_, 0.06F);
  const Vec lower = wrist - elbow;
  capsule(group, kSkin, elbow, wrist, 0.038F * limb_, 0.027F * limb_, 0.05F);
  capsule(group, kSkin, elbow + lower * 0.14F, elbow + lower * 0.42F, 0.0350F * limb_,
          0.031F * limb_, 0.06F);
  hand(limb, group, side);
}

void Builder::hand(const Limbs& limb, int group, int side) {
  const Vec wrist = to_vec(limb.wrist);
  const Vec hand = to_vec(limb.hand);
  const Vec along = normalized(hand - wrist);
  const float z = sign(side);
  const Vec across{0, 0, z};
  capsule(group, kSkin, wrist + along * 0.012F, hand - along * 0.022F, 0.028F, 0.034F * limb_,
          0.02F);
  if (k_.mid_shoulder.y() > limb.hand.y() + 0.2) {  // hanging: loose fingers
    capsule(group, kSkin, hand, hand + along * (0.055F * f_), 0.032F * limb_, 0.018F, 0.02F);
    capsule(group, kSkin, hand - along * 0.02F + Vec{0.03F, 0, 0}, hand + Vec{0.045F, -0.03F, 0},
            0.013F, 0.010F, 0.015F);
    return;
  }
  // Closed round the bar: four fingers over it, the thumb under the first.
  const Vec over = hand + along * 0.016F;
  for (int finger = 0; finger < 4; ++finger) {
    const float offset = (static_cast<float>(finger) - 1.5F) * 0.020F * f_;
    const Vec root = hand - across * offset;
    capsule(group, kSkin, root + Vec{-0.016F, 0.004F, 0}, over - across * offset, 0.013F, 0.014F,
            0.008F);
    capsule(group, kSkin, over - across * offset, root + Vec{0.022F, -0.006F, 0} - along * 0.006F,
            0.014F, 0.011F, 0.008F);
  }
  capsule(group, kSkin, hand - along * 0.03F - across * (0.030F * f_),
          hand + Vec{0.020F, 0, 0} - across * (0.046F * f_), 0.014F, 0.011F, 0.012F);
}

void Builder::head() {
  const Frame h = leaning(k_.head_inclination);
  const Vec c = to_vec(k_.head_center);
  const Vec neck = to_vec(k_.neck);
  const Frame t = leaning(k_.trunk_inclination);
  capsule(kHead, kSkin, at(neck, t, -0.014F, 0.040F, 0), at(c, h, -0.022F, -0.045F, 0),
          0.056F * limb_, 0.052F * limb_, 0.03F);
  ellipsoid(kHead, kSkin, at(c, h, -0.010F, 0.022F, 0), h, {0.096F, 0.098F, 0.075F}, 0.03F);
  ellipsoid(kHead, kSkin, at(c, h, 0.026F, -0.050F, 0), h, {0.058F, 0.062F, 0.054F}, 0.04F);
  ellipsoid(kHead, kSkin, at(c, h, 0.062F, -0.088F, 0), h, {0.022F, 0.020F, 0.026F}, 0.03F);
  capsule(kHead, kSkin, at(c, h, 0.084F, 0.016F, 0), at(c, h, 0.103F, -0.022F, 0), 0.010F, 0.0145F,
          0.015F);
  for (int side : {kLeft, kRight}) {
    const float z = sign(side);
    ellipsoid(kFace, kEyeWhite, at(c, h, 0.0740F, 0.012F, 0.032F * z), h,
              {0.0095F, 0.0092F, 0.0150F}, 0.002F);
    ellipsoid(kFace, kIris, at(c, h, 0.0785F, 0.0115F, 0.0325F * z), h, {0.0062F, 0.0080F, 0.0080F},
              0.0F);
    capsule(kFace, kBrow, at(c, h, 0.0835F, 0.0385F, 0.019F * z),
            at(c, h, 0.0790F, 0.0425F, 0.034F * z), 0.0036F, 0.0038F, 0.002F);
    capsule(kFace, kBrow, at(c, h, 0.0790F, 0.0425F, 0.034F * z),
            at(c, h, 0.0675F, 0.0365F, 0.050F * z), 0.0038F, 0.0028F, 0.002F);
    // The corners of the mouth turn up a little.
    capsule(kFace, kLips, at(c, h, 0.0850F, -0.0590F, 0), at(c, h, 0.0740F, -0.0545F, 0.0250F * z),
            0.0068F, 0.0034F, 0.003F);
    const Vec ear = to_vec(k_.ear[static_cast<std::size_t>(side)]);
    ellipsoid(kFace, kSkin, at(ear, h, 0.0F, 0.006F, 0), h, {0.017F, 0.030F, 0.010F}, 0.004F);
  }
  hair(h, c);
}

void Builder::hair(const Frame& h, Vec c) {
  const HairStyle style = lifter_.look.hair_style;
  const float thick = style == HairStyle::Cropped ? 0.0F : 0.006F;
  ellipsoid(kHairGroup, kHair, at(c, h, -0.024F, 0.040F, 0), h,
            {0.092F + thick, 0.088F + thick, 0.0765F + thick}, 0.02F);
  ellipsoid(kHairGroup, kHair, at(c, h, -0.050F, -0.002F, 0), h,
            {0.062F + thick, 0.072F + thick, 0.070F + thick}, 0.02F);
  if (style == HairStyle::Bun) {
    ellipsoid(kHairGroup, kHair, at(c, h, -0.118F, 0.058F, 0), h, {0.040F, 0.038F, 0.040F}, 0.012F);
  }
  if (style == HairStyle::Short) {
    ellipsoid(kHairGroup, kHair, at(c, h, 0.036F, 0.088F, 0), h, {0.044F, 0.030F, 0.058F}, 0.03F);
  }
}

void add_materials(const Look& look, std::vector<Material>& out) {
  const std::array<Material, kMaterials> list = {{{look.skin, 0.10F, 1},
                                                  {look.shirt, 0.03F, 2},
                                                  {look.shorts, 0.03F, 3},
                                                  {look.shoe, 0.12F, 4},
                                                  {look.sole, 0.10F, 5},
                                                  {look.hair, 0.16F, 6},
                                                  {look.sock, 0.02F, 7},
                                                  {look.lips, 0.15F, 8},
                                                  {srgb(238, 236, 230), 0.3F, 9},
                                                  {srgb(40, 34, 30), 0.4F, 10},
                                                  {look.hair, 0.05F, 11}}};
  out.insert(out.end(), list.begin(), list.end());
}

}  // namespace

double disc_outer_face_z(const BarSpec& bar) {
  constexpr double kFlange = 0.028;  // width of the shoulder ring inside of the disc, chosen
  return 0.5 * bar.between_sleeves + kFlange + bar.disc_thickness;
}

void add_figure(const Lifter& lifter, const Skeleton& skeleton, const Placement& place,
                Field& field, std::vector<FloorShade>& shades) {
  Builder builder(lifter, skeleton);
  builder.build();
  const auto c = static_cast<float>(std::cos(place.turn));
  const auto s = static_cast<float>(std::sin(place.turn));
  const auto turn = [&](Vec p) { return Vec{c * p.x + s * p.z, p.y, -s * p.x + c * p.z}; };
  const Vec shift{static_cast<float>(place.x), 0, static_cast<float>(place.z)};
  const auto group_base = static_cast<std::uint8_t>(field.join.size());
  const auto material_base = static_cast<std::uint8_t>(field.materials.size());
  for (Primitive q : builder.primitives) {
    q.a = turn(q.a) + shift;
    q.b = turn(q.b) + shift;
    q.u = turn(q.u);
    q.v = turn(q.v);
    q.w = turn(q.w);
    q.group = static_cast<std::uint8_t>(q.group + group_base);
    q.material = static_cast<std::uint8_t>(q.material + material_base);
    q.material_beyond = static_cast<std::uint8_t>(q.material_beyond + material_base);
    field.primitives.push_back(q);
  }
  field.join.insert(field.join.end(), kJoin.begin(), kJoin.end());
  add_materials(lifter.look, field.materials);
  const auto shade = [&](Vec p, float rx, float rz, float strength) {
    const Vec w = turn(p) + shift;
    shades.push_back({w.x, w.z, rx, rz, strength});
  };
  for (const Limbs& limb : skeleton.side) {
    const Vec middle = (to_vec(limb.heel) + to_vec(limb.toe)) * 0.5F;
    shade(middle, 0.17F, 0.075F, 0.62F);
  }
  const Vec hip = to_vec(skeleton.mid_hip);
  shade(hip, 0.20F + 0.20F * hip.y, 0.20F + 0.20F * hip.y, 0.42F / (1.0F + 1.6F * hip.y));
}

std::vector<Cylinder> bar_solids(const BarSpec& bar, const Skeleton& skeleton,
                                 std::vector<FloorShade>& shades) {
  std::vector<Cylinder> solids;
  if (bar.kind == BarKind::None) return solids;
  const Vec middle = to_vec(skeleton.bar);
  const auto point = [&](double z) { return middle + Vec{0, 0, static_cast<float>(z)}; };
  const Material steel{srgb(176, 180, 186), 0.7F, 20};
  const Material sleeve{srgb(196, 199, 204), 0.8F, 21};
  if (bar.kind == BarKind::Pipe) {
    const Material plastic{srgb(228, 226, 214), 0.25F, 22};
    solids.push_back(
        {point(-0.5 * bar.length), point(0.5 * bar.length), 0.0125F, plastic, plastic, false, {}});
    return solids;
  }
  const double inner = 0.5 * bar.between_sleeves;
  solids.push_back({point(-inner), point(inner), 0.014F, steel, steel, false, {}});
  const double outer = disc_outer_face_z(bar);
  const Material rubber{bar.disc_color, 0.14F, 23};
  for (const double side : {-1.0, 1.0}) {
    solids.push_back(
        {point(side * inner), point(side * (inner + 0.028)), 0.040F, steel, steel, false, {}});
    solids.push_back(
        {point(side * inner), point(side * 0.5 * bar.length), 0.025F, sleeve, sleeve, false, {}});
    solids.push_back({point(side * (outer - bar.disc_thickness)), point(side * outer),
                      static_cast<float>(0.5 * bar.disc_diameter), rubber, rubber, true,
                      bar.hub_color});
    const Material collar{srgb(66, 68, 74), 0.4F, 24};
    solids.push_back(
        {point(side * outer), point(side * (outer + 0.030)), 0.036F, collar, collar, false, {}});
    shades.push_back({middle.x, static_cast<float>(side * outer), 0.30F, 0.12F, 0.10F});
  }
  return solids;
}

}  // namespace lintel::demo
