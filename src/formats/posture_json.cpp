#include "formats/posture_json.h"

#include <nlohmann/json.hpp>

#include "formats/change_json.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using reasoning::Factor;
using reasoning::WhatIf;

Json spread_json(const reasoning::Spread& s) {
  return {{"mean", number(s.mean * kDegrees)},
          {"standard_deviation", number(s.standard_deviation * kDegrees)},
          {"low", number(s.low * kDegrees)},
          {"high", number(s.high * kDegrees)}};
}

Json setup_json(const body::Setup& s) {
  return {{"stance_width_cm", number(s.stance_width * kCentimetres)},
          {"toe_out_deg", number(s.toe_out * kDegrees)},
          {"heel_elevation_cm", number(s.heel_elevation * kCentimetres)},
          {"grip_width_cm", number(s.grip_width * kCentimetres)},
          {"bar_mass_kg", number(s.bar_mass)},
          {"depth_cm", number(s.depth * kCentimetres)},
          {"bar_position", std::string(body::bar_position_name(s.bar_position))}};
}

Json head(std::string_view schema, std::string_view athlete_id) {
  return {{"schema", schema},
          {"athlete", {{"id", athlete_id.empty() ? Json(nullptr) : Json(athlete_id)}}}};
}

std::string text_of(Json root) {
  root["cautions"] = cautions_json();
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

Json row_json(const WhatIf& row) {
  return {{"changes", changes_json(row.changes)},
          {"trunk_inclination_deg", number(row.trunk_inclination * kDegrees)},
          {"trunk_inclination_error_deg", number(row.trunk_inclination_error * kDegrees)},
          {"trunk_change_deg", estimate({row.trunk_change, row.trunk_change_error}, kDegrees)},
          {"shoulder_change_deg", number(row.shoulder_change * kDegrees)},
          {"depth_gained_cm",
           row.depth_gained ? number(*row.depth_gained * kCentimetres) : Json(nullptr)},
          {"within_all_limits", row.possible},
          {"costs", costs_json(row.costs)}};
}

Json optional_row(const std::optional<WhatIf>& row) {
  return row ? row_json(*row) : Json(nullptr);
}

Json table_json(const reasoning::WhatIfTable& table) {
  Json single = Json::array();
  for (const WhatIf& row : table.single) single.push_back(row_json(row));
  return {{"most_upright_trunk_inclination_deg", number(table.trunk_inclination * kDegrees)},
          {"most_upright_trunk_inclination_error_deg",
           number(table.trunk_inclination_error * kDegrees)},
          {"shoulder_elevation_demanded_deg", number(table.shoulder_elevation * kDegrees)},
          {"deepest_cm", table.deepest ? number(*table.deepest * kCentimetres) : Json(nullptr)},
          {"single", single},
          {"best_pair", optional_row(table.best_pair)},
          {"best_triple", optional_row(table.best_triple)},
          {"best_setup", row_json(table.best_setup)}};
}

Json grip_json(const reasoning::GripAdvice& g, const body::Setup& today) {
  return {{"recommended_cm", number(g.recommended * kCentimetres)},
          {"reason", reasoning::grip_reason_sentence(g.reason)},
          {"today_cm", number(today.grip_width * kCentimetres)},
          {"hip_crease_cm", estimate(g.hip_crease, kCentimetres)},
          {"narrowest_cm", number(g.bounds.low * kCentimetres)},
          {"narrower_because", reasoning::grip_bound_sentence(g.narrow_because)},
          {"widest_cm", number(g.bounds.high * kCentimetres)},
          {"wider_because", reasoning::grip_bound_sentence(g.wide_because)},
          {"elevation_demanded_deg", number(g.demanded_elevation * kDegrees)},
          {"reserve_at_hip_crease_deg", number(g.reserve_at_crease * kDegrees)},
          {"reserve_at_recommended_deg", number(g.reserve_at_recommended * kDegrees)},
          {"reserve_today_deg", number(g.reserve_at_today * kDegrees)},
          {"bottom_elevation_deg", number(g.bottom_elevation * kDegrees)},
          {"bottom_reserve_deg", number(g.bottom_reserve * kDegrees)},
          {"pass_through", g.pass_through},
          {"pass_through_today", g.pass_through_today},
          {"bar_leaves_hip_crease_in_the_snatch", g.leaves_hip_crease}};
}

Json parts_json(const reasoning::ExplainResult& r) {
  Json parts = Json::array();
  const int count = r.observed ? reasoning::kFactorCount : reasoning::kPhysicalFactorCount;
  for (int i = 0; i < count; ++i) {
    const auto factor = static_cast<Factor>(i);
    const std::size_t k = reasoning::index_of(factor);
    parts.push_back({{"factor", reasoning::factor_name(factor)},
                     {"label", reasoning::factor_label(factor)},
                     {"share_deg", number(r.shares.parts[k] * kDegrees)},
                     {"spread_95_deg", spread_json(r.uncertainty.parts[k])},
                     {"probability_largest", number(r.uncertainty.probability_largest[k])}});
  }
  return parts;
}

Json limits_json(const reasoning::ExplainResult& r) {
  Json list = Json::array();
  for (const reasoning::LimitState& state : r.limits) {
    const bool length = posture::is_length(state.limit);
    const double factor = length ? kCentimetres : kDegrees;
    const std::string unit = length ? "_cm" : "_deg";
    const char* source = state.source == posture::LimitSource::Measured  ? "measured"
                         : state.source == posture::LimitSource::Derived ? "derived"
                                                                         : "default";
    list.push_back({{"limit", posture::limit_name(state.limit)},
                    {"source", source},
                    {"edge" + unit, number(state.edge * factor)},
                    {"reserve" + unit, number(state.reserve * factor)},
                    {length ? "trunk_deg_per_cm" : "trunk_deg_per_deg",
                     number(state.sensitivity * kDegrees / factor)}});
  }
  return list;
}

Json shoulders_json(const reasoning::ShoulderChange& s) {
  return {
      {"demanded_at_bottom_deg", number(s.demanded_bottom * kDegrees)},
      {"allowed_standing_deg", number(s.allowed_standing * kDegrees)},
      {"allowed_at_bottom_deg", number(s.allowed_bottom * kDegrees)},
      {"lumbar_flexion_deg", number(s.lumbar_flexion * kDegrees)},
      {"expected_change_deg", number(s.expected_change * kDegrees)},
      {"expected_change_by_latissimus_deg", number(s.expected_change_by_latissimus * kDegrees)}};
}

}  // namespace

std::string write_explanation_json(const reasoning::ExplainResult& r, std::string_view athlete_id) {
  Json root = head("lintel-explanation-1", athlete_id);
  root["setup"] = setup_json(r.setup);
  root["reference_setup"] = setup_json(r.reference_setup);
  root["observed_trunk_inclination_deg"] =
      r.observed ? estimate(*r.observed, kDegrees) : Json(nullptr);
  root["reference_trunk_inclination_deg"] = number(r.shares.reference * kDegrees);
  root["most_upright_trunk_inclination_deg"] = {
      {"value", number(r.shares.most_upright * kDegrees)},
      {"spread_95_deg", spread_json(r.uncertainty.most_upright)}};
  root["least_effort_trunk_inclination_deg"] =
      number(r.habitual.posture.trunk_inclination * kDegrees);
  root["within_all_limits"] = r.outcome == posture::Outcome::Solved;
  Json conflict = Json::array();
  for (std::size_t i = 0; i < posture::kLimitCount; ++i) {
    if (r.conflict[i]) conflict.push_back(posture::limit_name(static_cast<posture::Limit>(i)));
  }
  root["conflict"] = conflict;
  root["whole_deg"] = number(r.shares.whole * kDegrees);
  root["parts"] = parts_json(r);
  root["draws"] = r.uncertainty.draws;
  root["binding_limits"] = limits_json(r);
  root["tests_done"] = r.tests_done;
  Json missing = Json::array();
  for (const reasoning::MissingTest& m : r.missing) {
    missing.push_back({{"test", body::mobility_test_name(m.test)},
                       {"label", reasoning::test_label(m.test)},
                       {"leaves_open_deg", number(m.spread * kDegrees)}});
  }
  root["missing_tests"] = missing;
  root["shoulders"] = r.shoulders ? shoulders_json(*r.shoulders) : Json(nullptr);
  root["what_if"] = r.what_if ? table_json(*r.what_if) : Json(nullptr);
  root["grip"] = r.grip ? grip_json(*r.grip, r.setup) : Json(nullptr);
  root["cannot_tell"] = r.cannot_tell.empty() ? Json(nullptr) : Json(r.cannot_tell);
  root["sentences"] = r.sentences;
  return text_of(std::move(root));
}

std::string write_what_if_json(const reasoning::WhatIfTable& table, std::string_view athlete_id) {
  Json root = head("lintel-what-if-1", athlete_id);
  root.update(table_json(table));
  return text_of(std::move(root));
}

std::string write_grip_json(const reasoning::GripAdvice& advice, const body::Setup& today,
                            std::string_view athlete_id) {
  Json root = head("lintel-grip-1", athlete_id);
  root.update(grip_json(advice, today));
  return text_of(std::move(root));
}

}  // namespace lintel::formats
