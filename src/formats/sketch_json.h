// The "drawing" object inside protocol and drill files.
//
//   "drawing": {"panels": [{"caption": "start", "view": "side",
//     "figure": {"at": {"joint": "ankle", "x_cm": 0, "y_cm": 8}, "facing": "right",
//                "trunk_deg": 10, "thigh_deg": [100, 105], ...},
//     "props": [{"kind": "floor"}, ...], "marks": [{"kind": "angle", ...}, ...]}]}
//
// Lengths in cm, directions in degrees from vertical-up, positive to the right of the picture.
//
// Figure, all optional: at {joint, x_cm, y_cm} (that joint is put there), facing right|left,
// trunk_deg,
//   thorax_deg (upper half of the trunk), head_deg, upper_arm_deg, forearm_deg, hand_deg,
//   thigh_deg, shank_deg, foot_deg: one number or [near, far] ([left, right of the picture] in
//   front and top views). Left out: trunk up, head like the trunk, arms hanging (forearm like the
//   upper arm), legs standing (shank like the thigh), feet flat. Front and top: shoulder_line_deg
//   and hip_line_deg, the direction from the picture's left joint to its right one. Segments that
//   point at the viewer: "seen": {"thigh": 0.3, "upper_arm": [1, 0.4], "trunk": ..., "head",
//   "shoulders", "hips"}, the share of their length that is seen. "behind": ["near_arm",
//   "left_leg", ...] and "before": [...] where the usual order is not right. "figures": [...] in
//   place of "figure" for two people.
// Place: [x, y] in cm, or a joint: "knee", "far_knee", "left_hand", ... Joints: crown, head, neck,
//   shoulder, elbow, wrist, hand, pelvis, hip, knee, ankle, heel, toe; "hands" is "hand".
// Props: floor {y_cm}; wall {x_cm, side}: the wall's body lies on that side of its face; box,
// bench,
//   mat, chair, scale {x_cm, y_cm: lower LEFT corner, width_cm, height_cm; chair: side of the back
//   rest; scale: label}; wedge {the same; side = the high end}; ball, roller, plate {x_cm, y_cm:
//   centre, radius_cm}; pipe, bar {at: place | x_cm, y_cm: centre, length_cm, angle_deg | from,
//   to}; tape, band {from, to, label}; dumbbell, kettlebell {at | x_cm, y_cm}.
// Marks: angle {at, from_deg, to_deg, radius_cm, label}; distance, arrow, line {from, to, label,
//   dashed}; text {at, label}; turn {at, from_deg, to_deg, radius_cm}: a curved arrow; pad {at}: a
//   pressure point.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/sketch.h"
#include "formats/field_reader.h"
#include "formats/located_json.h"

namespace lintel::formats {

// Reads `value` into `out`; each fault with its place, its field beginning with `field`
// ("drawing"). A drawing without panels, or a panel without figure, prop or mark, is a fault.
void read_sketch(const JsonValue& value, std::string_view field, FaultList& faults, Sketch& out);

// The required member "drawing" of a file; nothing when it is missing or has a fault of its own.
std::optional<Sketch> read_drawing(const JsonValue& root, FieldReader& read,
                                   const std::string& mend);

// The object as JSON text; read_sketch gives the same Sketch again (to rounding).
std::string write_sketch(const Sketch& sketch);

}  // namespace lintel::formats
