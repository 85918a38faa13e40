#include "app/reliability_text.h"

#include <cmath>

#include "app/text_blocks.h"
#include "base/text.h"

namespace lintel::app {
namespace {

using view::IccForm;
using view::ReliabilityReport;

constexpr std::array<const char*, view::kIccFormCount> kForms = {
    "(1,1)  one rating, everybody rated by others",
    "(2,1)  one rating, by anybody",
    "(3,1)  one rating, by these raters only",
    "(1,k)  mean, everybody rated by others",
    "(2,k)  mean, by anybody",
    "(3,k)  mean, by these raters only"};

// Three significant digits, plain.
std::string number(double value) {
  if (!std::isfinite(value)) return "-";
  const double size = std::abs(value);
  return text("%.*f", size >= 100 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3, value);
}

std::string p_value(double p) {
  return p < 0.001 ? "< 0.001" : text("%.3f", p);
}

std::string between(const view::Bounds& b) {
  return number(b.lower) + " to " + number(b.upper);
}

std::string icc_block(const ReliabilityReport& report) {
  std::string out = text("\n%-50s %6s   %-16s %8s  %s\n", "Intraclass correlation", "ICC",
                         "95 % interval", "F", "p");
  for (std::size_t i = 0; i < report.icc.size(); ++i) {
    const view::Icc& icc = report.icc[i];
    out += text("  %-48s %6.3f   %-16s %8s  %s\n", kForms[i], icc.value,
                text("%6.3f to %6.3f", icc.interval95.lower, icc.interval95.upper).c_str(),
                std::isinf(icc.f) ? "inf" : number(icc.f).c_str(), p_value(icc.p).c_str());
  }
  return out + wrapped(
                   "Form 2 where anybody may take the test next time, form 3 where always the same "
                   "person "
                   "does; k where the mean of all columns is used.",
                   "  ", "  ");
}

std::string error_block(const ReliabilityReport& report, const std::string& unit) {
  const view::ErrorOfMeasurement& e = report.error;
  const auto line = [&unit](const char* what, const std::string& value, const std::string& note) {
    return text("  %-52s %8s%s%s\n", what, value.c_str(), unit.c_str(), note.c_str());
  };
  std::string out = "\nStandard error of measurement\n";
  out += line("steady shifts between columns left out", number(e.from_residual),
              "   95 % " + between(e.from_residual_95));
  out += line("shifts count as error (agreement)", number(e.agreement), "");
  out += line("SD of all values, ICC(2,1)", number(e.from_icc21), "");
  out += line("pooled SD, ICC(3,1)", number(e.from_icc31), "");
  out += "\nSmallest change between two tests that is more than error\n";
  out += line("95 %", number(e.mdc95), "");
  out += line("90 %", number(e.mdc90), "");
  out += line("95 %, shifts count as error", number(e.mdc95_agreement), "");
  if (e.coefficient_of_variation) {
    out += text("\nCoefficient of variation %.1f %%\n", 100 * *e.coefficient_of_variation);
  }
  return out;
}

std::string agreement_block(const ReliabilityReport& report, const std::string& unit) {
  const view::Agreement& a = *report.agreement;
  std::string out = text("\nAgreement: %s less %s, %d pairs\n", report.columns[1].c_str(),
                         report.columns[0].c_str(), a.pairs);
  out +=
      text("  bias %s%s, 95 %% %s (p %s); SD of the differences %s\n",
           number(a.mean_difference).c_str(), unit.c_str(), between(a.mean_difference_95).c_str(),
           p_value(a.t_p).c_str(), number(a.sd_difference).c_str());
  out += text("  limits of agreement %s%s\n", between(a.limits).c_str(), unit.c_str());
  out += text("    lower limit, 95 %%: %s (exact), %s (approximate)\n",
              between(a.lower_limit_95_exact).c_str(), between(a.lower_limit_95).c_str());
  out += text("    upper limit, 95 %%: %s (exact), %s (approximate)\n",
              between(a.upper_limit_95_exact).c_str(), between(a.upper_limit_95).c_str());
  if (a.proportional_bias) {
    out += text("  the difference changes by %s for each unit of the mean (p %s)\n",
                number(*a.proportional_bias).c_str(), p_value(*a.proportional_bias_p).c_str());
  }
  return out;
}

std::string tester_block(const view::TesterError& t, const std::string& unit) {
  std::string out = "\nThis tester\n";
  out += text("  published error %s%s, counted as %g degrees of freedom\n",
              number(t.published).c_str(), unit.c_str(), t.published_df);
  out += text("  own repeats     %s%s, %g degrees of freedom, 95 %% %s\n", number(t.own).c_str(),
              unit.c_str(), t.own_df, between(t.own_95).c_str());
  out += text("  to be used      %s%s, 95 %% %s\n", number(t.updated).c_str(), unit.c_str(),
              between(t.updated_95).c_str());
  out += text("  smallest detectable change with it %s%s\n", number(t.mdc95).c_str(), unit.c_str());
  return out + text("  larger than the published error with a probability of %.0f %%\n",
                    100 * t.probability_worse);
}

}  // namespace

std::string reliability_text(const ReliabilityReport& report) {
  const std::string unit = report.unit.empty() ? "" : " " + report.unit;
  std::string columns;
  for (const std::string& column : report.columns) {
    columns += (columns.empty() ? "" : ", ") + column;
  }
  std::string out =
      wrapped(text("Repeated measurements: %d people, %d columns (", report.anova.subjects,
                   report.anova.raters) +
                  columns + "), grand mean " + number(report.anova.grand_mean) + unit +
                  (report.protocol.empty() ? "" : ", protocol " + report.protocol),
              "", "  ");
  out += icc_block(report);
  out += error_block(report, unit);
  if (report.agreement) out += agreement_block(report, unit);
  if (report.tester) out += tester_block(*report.tester, unit);
  return out + cautions_block();
}

}  // namespace lintel::app
