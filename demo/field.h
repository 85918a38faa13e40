// Signed distance field of soft and hard primitives, with culling per picture tile.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "demo/lifter.h"
#include "demo/vec.h"

namespace lintel::demo {

enum class Shape : std::uint8_t {
  Capsule,    // from a to b, radius ra to rb
  Ellipsoid,  // centre a, radii r, axes u v w
  Slab,       // plan view a capsule a to b with radii ra to rb, thick along w by 2 r.x, rounded
};

struct Material {
  Color color;
  float gloss = 0.1F;
  std::uint8_t id = 0;  // edges between different ids are smoothed
};

struct Primitive {
  Shape shape = Shape::Capsule;
  std::uint8_t group = 0;            // primitives of one group melt together
  std::uint8_t material = 0;         // index into Field::materials
  std::uint8_t material_beyond = 0;  // past `cut` along a to b
  Vec a, b;
  float ra = 0, rb = 0;
  float blend = 0.02F;  // within its group [m]
  float cut = 2.0F;     // share of a to b where the cloth ends; above 1 = no cut
  float cloth = 0.0F;   // thickness before the cut [m]
  Vec r{0, 0, 0};
  Vec u{1, 0, 0}, v{0, 1, 0}, w{0, 0, 1};
  // Filled by Field::finish.
  Vec inverse_r;
  Vec axis;
  float inverse_length_squared = 0;
  Vec center;  // bounding capsule: center +- half
  Vec half;
  float reach = 0;
};

struct Hit {
  float distance = 0;
  int primitive = -1;  // the nearest one
};

// Groups melt into the running union with join[group] [m].
class Field {
 public:
  std::vector<Primitive> primitives;  // sorted by group in finish()
  std::vector<Material> materials;
  std::vector<float> join;

  void finish();
  float distance(Vec p, std::span<const std::uint16_t> active) const;
  Hit nearest(Vec p, std::span<const std::uint16_t> active) const;
  Vec normal(Vec p, std::span<const std::uint16_t> active) const;
  const Material& material_at(Vec p, int primitive) const;
  // Of the candidates, those whose influence reaches the cone from `origin` along `direction`
  // (unit) with opening `slope` (radius per distance). [near, far] is the stretch they occupy.
  void cull(Vec origin, Vec direction, float slope, std::span<const std::uint16_t> candidates,
            std::vector<std::uint16_t>& active, float& near, float& far) const;
  std::vector<std::uint16_t> all() const;  // every primitive's index

 private:
  float primitive_distance(const Primitive& q, Vec p) const;
};

}  // namespace lintel::demo
