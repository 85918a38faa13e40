#include "formats/findings_json.h"

#include <nlohmann/json.hpp>

#include "formats/change_json.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

using reasoning::Confidence;
using reasoning::Evidence;
using reasoning::Factor;
using reasoning::Finding;
using reasoning::Overruling;
using reasoning::Quantity;

Json text_or_null(std::string_view text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

Json part_or_null(const std::optional<Factor>& part) {
  return part ? Json(reasoning::factor_name(*part)) : Json(nullptr);
}

Json side_or_null(const std::optional<body::Side>& side) {
  if (!side) return nullptr;
  return *side == body::Side::Left ? "left" : "right";
}

Json size_json(const std::optional<reasoning::Size>& size) {
  if (!size) return nullptr;
  return {{"value", number(size->value * kDegrees)},
          {"low", number(size->low * kDegrees)},
          {"high", number(size->high * kDegrees)}};
}

Json evidence_json(const Evidence& e) {
  const bool length = e.quantity == Quantity::Length;
  const double factor = length ? kCentimetres : e.quantity == Quantity::Angle ? kDegrees : 1.0;
  const std::string unit = length ? "_cm" : e.quantity == Quantity::Angle ? "_deg" : "";
  return {{"source", reasoning::evidence_source_name(e.source)},
          {"bearing", reasoning::bearing_name(e.bearing)},
          {"code", e.code},
          {"text", e.text},
          {"value" + unit, e.value ? estimate(*e.value, factor) : Json(nullptr)},
          {"against" + unit, e.against ? number(*e.against * factor) : Json(nullptr)},
          {"test", e.test ? Json(body::mobility_test_name(*e.test)) : Json(nullptr)},
          {"side", side_or_null(e.side)},
          {"assessment", text_or_null(e.assessment)},
          {"repetition", e.repetition > 0 ? Json(e.repetition) : Json(nullptr)},
          {"frame", e.frame >= 0 ? Json(e.frame) : Json(nullptr)}};
}

Json overruling_json(const Overruling& o) {
  return {{"finding", o.finding},
          {"verdict", reasoning::verdict_name(o.verdict)},
          {"size_deg", o.size ? number(*o.size * kDegrees) : Json(nullptr)},
          {"reason", o.reason},
          {"who", o.who},
          {"date", o.date.iso()}};
}

Json overrulings_json(const std::vector<Overruling>& list) {
  Json out = Json::array();
  for (const Overruling& o : list) out.push_back(overruling_json(o));
  return out;
}

Json finding_json(const Finding& f) {
  Json evidence = Json::array();
  for (const Evidence& e : f.evidence) evidence.push_back(evidence_json(e));
  const double effective = f.effective_probability();
  return {{"id", f.id},
          {"kind", reasoning::finding_kind_name(f.kind)},
          {"part", part_or_null(f.part)},
          {"side", side_or_null(f.side)},
          {"status", reasoning::finding_status_name(f.status())},
          {"title", f.title},
          {"sentence", f.sentence},
          {"size_of", reasoning::size_of_name(f.size_of)},
          {"size_95_deg", size_json(f.size)},
          {"probability", number(f.probability)},
          {"probability_largest", number(f.probability_largest)},
          {"confidence", reasoning::confidence_word(f.confidence)},
          {"conflict", text_or_null(f.conflict)},
          {"evidence", evidence},
          {"overruling", f.overruling ? overruling_json(*f.overruling) : Json(nullptr)},
          {"earlier_overrulings", overrulings_json(f.earlier_overrulings)},
          {"counts_as",
           {{"probability", number(effective)},
            {"confidence", reasoning::confidence_word(reasoning::confidence_of(effective))},
            {"size_95_deg", size_json(f.effective_size())}}}};
}

Json value_json(const reasoning::SignalValue& v) {
  return {{"gain_deg", number(v.gain * kDegrees)},
          {"information_bits", number(v.information)},
          {"probability_right", number(v.probability_right)}};
}

Json setup_json(const reasoning::SetupToFilm& s) {
  Json tells = nullptr;
  if (s.against && s.other) {
    const auto hypothesis = [](Factor factor, double change) {
      return Json{{"part", reasoning::factor_name(factor)},
                  {"trunk_change_deg", number(change * kDegrees)}};
    };
    tells = Json::array(
        {hypothesis(*s.against, s.change_if_against), hypothesis(*s.other, s.change_if_other)});
  }
  return {{"changes", changes_json(s.changes)},
          {"how", s.how},
          {"why", s.why},
          {"shows", s.shows},
          {"trunk_change_95_deg", size_json(s.change)},
          {"worth", value_json(s.value)},
          {"score_deg", number(s.score * kDegrees)},
          {"within_allowed", s.within_allowed},
          {"tells_apart", tells},
          {"costs", costs_json(s.costs)}};
}

Json tests_json(const reasoning::TestChoice& c) {
  Json options = Json::array();
  for (const reasoning::TestOption& o : c.options) {
    options.push_back({{"test", body::mobility_test_name(o.test)},
                       {"label", reasoning::test_label(o.test)},
                       {"limit", posture::limit_name(o.limit)},
                       {"repeat", o.repeat},
                       {"error_deg", number(o.error * kDegrees)},
                       {"worth", value_json(o.value)},
                       {"why", o.why}});
  }
  return {{"stop", reasoning::stop_reason_name(c.stop)},
          {"sentence", c.sentence},
          {"probability_right_now", number(c.probability_right_now)},
          {"part_worked_on_now_deg", number(c.value_now * kDegrees)},
          {"part_worked_on_if_known_deg", number(c.value_at_best * kDegrees)},
          {"options", options}};
}

Json targets_json(const std::vector<reasoning::Target>& targets) {
  Json out = Json::array();
  for (const reasoning::Target& t : targets) {
    out.push_back({{"finding", t.finding},
                   {"part", reasoning::factor_name(t.part)},
                   {"side", side_or_null(t.side)},
                   {"size_95_deg", size_json(t.size)},
                   {"probability", number(t.probability)}});
  }
  return out;
}

}  // namespace

std::string write_findings_json(const FindingsDocument& d) {
  Json root = {{"schema", "lintel-findings-1"},
               {"athlete", {{"id", text_or_null(d.athlete_id)}}},
               {"assessment", text_or_null(d.assessment)},
               {"how_sure", reasoning::confidence_explanation()}};
  root["findings"] = Json::array();
  for (const Finding& f : d.findings.all) root["findings"].push_back(finding_json(f));
  root["unmatched_overrulings"] = overrulings_json(d.findings.unmatched);
  root["setups_to_film"] = Json::array();
  for (const auto& s : d.setups) root["setups_to_film"].push_back(setup_json(s));
  root["next_tests"] = tests_json(d.tests);
  root["targets"] = targets_json(d.targets);
  root["remarks"] = d.remarks;
  root["cautions"] = cautions_json();
  return root.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
