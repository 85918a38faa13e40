#include "formats/reliability_json.h"

#include <cmath>

#include "base/text.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

// All digits: these numbers are compared with other programs', not shown to a person.
Json exact(double value) {
  return std::isfinite(value) ? Json(value) : Json();
}

Json bounds(const view::Bounds& b) {
  return {{"lower", exact(b.lower)}, {"upper", exact(b.upper)}};
}

Json optional_number(const std::optional<double>& value) {
  return value ? exact(*value) : Json();
}

Json anova_row(const view::AnovaRow& row) {
  return {{"degrees_of_freedom", exact(row.degrees_of_freedom)},
          {"sum_of_squares", exact(row.sum_of_squares)},
          {"mean_square", exact(row.mean_square)}};
}

Json anova_json(const view::Anova& a) {
  return {{"subjects", anova_row(a.between_subjects)},
          {"raters", anova_row(a.between_raters)},
          {"residual", anova_row(a.residual)},
          {"within", anova_row(a.within)}};
}

Json icc_json(const view::ReliabilityReport& report) {
  Json json;
  for (int i = 0; i < view::kIccFormCount; ++i) {
    const view::Icc& icc = report.icc[static_cast<std::size_t>(i)];
    json[std::string(view::icc_form_name(static_cast<view::IccForm>(i)))] = {
        {"value", exact(icc.value)}, {"f", exact(icc.f)}, {"df1", exact(icc.df1)},
        {"df2", exact(icc.df2)},     {"p", exact(icc.p)}, {"interval95", bounds(icc.interval95)}};
  }
  return json;
}

Json error_json(const view::ErrorOfMeasurement& e) {
  return {{"sem_from_residual", exact(e.from_residual)},
          {"sem_from_residual_interval95", bounds(e.from_residual_95)},
          {"sem_agreement", exact(e.agreement)},
          {"sem_from_icc_2_1", exact(e.from_icc21)},
          {"sem_from_icc_3_1", exact(e.from_icc31)},
          {"sd_all", exact(e.sd_all)},
          {"sd_pooled", exact(e.sd_pooled)},
          {"mdc95", exact(e.mdc95)},
          {"mdc95_exact", exact(e.mdc95_exact)},
          {"mdc90", exact(e.mdc90)},
          {"mdc95_agreement", exact(e.mdc95_agreement)},
          {"coefficient_of_variation", optional_number(e.coefficient_of_variation)}};
}

Json agreement_json(const view::Agreement& a) {
  return {{"pairs", a.pairs},
          {"mean_difference", exact(a.mean_difference)},
          {"mean_difference_interval95", bounds(a.mean_difference_95)},
          {"sd_difference", exact(a.sd_difference)},
          {"se_mean_difference", exact(a.se_mean_difference)},
          {"limits", bounds(a.limits)},
          {"limits_1_96", bounds(a.limits_1_96)},
          {"se_limit_approx", exact(a.se_limit_approx)},
          {"se_limit", exact(a.se_limit)},
          {"lower_limit_interval95", bounds(a.lower_limit_95)},
          {"upper_limit_interval95", bounds(a.upper_limit_95)},
          {"lower_limit_interval95_exact", bounds(a.lower_limit_95_exact)},
          {"upper_limit_interval95_exact", bounds(a.upper_limit_95_exact)},
          {"sem_from_differences", exact(a.sem_from_differences)},
          {"t", exact(a.t)},
          {"p", exact(a.t_p)},
          {"proportional_bias", optional_number(a.proportional_bias)},
          {"proportional_bias_p", optional_number(a.proportional_bias_p)},
          {"correlation", optional_number(a.correlation)}};
}

Json tester_json(const view::TesterError& t) {
  return {{"published", exact(t.published)},
          {"published_df", exact(t.published_df)},
          {"own", exact(t.own)},
          {"own_df", exact(t.own_df)},
          {"own_interval95", bounds(t.own_95)},
          {"updated", exact(t.updated)},
          {"updated_df", exact(t.updated_df)},
          {"updated_interval95", bounds(t.updated_95)},
          {"mdc95", exact(t.mdc95)},
          {"own_share", exact(t.own_share)},
          {"probability_worse_than_published", exact(t.probability_worse)}};
}

Json own_error_json(const view::ReliabilityReport& report) {
  if (!report.tester || report.protocol.empty()) return nullptr;
  return {{"protocol", report.protocol},
          {"value_" + report.unit, exact(report.tester->updated)},
          {"tries", report.tries_per_value},
          {"share_between_tries", exact(report.share_between_tries)},
          {"source", lintel::text("published error brought up to date by own repeats: %d people, "
                                  "%d times",
                                  report.anova.subjects, report.anova.raters)}};
}

}  // namespace

std::string write_reliability_json(const view::ReliabilityReport& report) {
  Json json;
  json["schema"] = "lintel-reliability-1";
  json["unit"] = report.unit.empty() ? Json() : Json(report.unit);
  json["protocol"] = report.protocol.empty() ? Json() : Json(report.protocol);
  json["columns"] = report.columns;
  json["subjects"] = report.anova.subjects;
  json["tries_per_value"] = report.tries_per_value;
  json["grand_mean"] = exact(report.anova.grand_mean);
  json["anova"] = anova_json(report.anova);
  json["icc"] = icc_json(report);
  json["error"] = error_json(report.error);
  json["agreement"] = report.agreement ? agreement_json(*report.agreement) : Json();
  json["tester"] = report.tester ? tester_json(*report.tester) : Json();
  json["own_error"] = own_error_json(report);
  json["cautions"] = cautions_json();
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace lintel::formats
