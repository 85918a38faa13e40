#include <algorithm>
#include <array>
#include <optional>

#include "body/number_table.h"
#include "plan/plan.h"

namespace lintel::embedded {
extern const std::string_view plan_warning_signs_csv;
}

namespace lintel::plan {
namespace {

constexpr int kSigns = static_cast<int>(body::WarningSign::BladderOrBowelChange) + 1;

WarningRule read_rule(const std::vector<std::string>& row) {
  WarningRule rule;
  const bool unloaded = row[1] == clearance_name(Clearance::UnloadedOnly);
  LINTEL_CHECK(unloaded || row[1] == clearance_name(Clearance::NoDrills));
  rule.clearance = unloaded ? Clearance::UnloadedOnly : Clearance::NoDrills;
  rule.urgent = row[2] == "yes";
  rule.label = row[3];
  rule.whom = row[4];
  rule.advice = row[5];
  rule.source = row[6];
  LINTEL_CHECK(!rule.label.empty() && !rule.whom.empty() && !rule.advice.empty() &&
               !rule.source.empty());
  return rule;
}

std::vector<WarningRule> read_rules(std::string_view csv) {
  std::vector<std::optional<WarningRule>> found(kSigns);
  for (std::size_t begin = 0; begin < csv.size();) {
    const std::size_t end = std::min(csv.find('\n', begin), csv.size());
    const std::string_view line = csv.substr(begin, end - begin);
    begin = end + 1;
    if (line.empty() || line.front() == '#' || line.substr(0, 5) == "sign,") continue;
    const std::vector<std::string> row = body::split_csv_line(line);
    LINTEL_CHECK(row.size() == 7);
    for (int i = 0; i < kSigns; ++i) {
      const auto sign = static_cast<body::WarningSign>(i);
      if (row[0] != body::warning_sign_name(sign)) continue;
      found[static_cast<std::size_t>(i)] = read_rule(row);
      found[static_cast<std::size_t>(i)]->sign = sign;
    }
  }
  std::vector<WarningRule> rules;
  for (const auto& rule : found) {
    LINTEL_CHECK(rule.has_value());  // a sign without a rule would let everything pass
    rules.push_back(*rule);
  }
  return rules;
}

}  // namespace

std::string_view clearance_name(Clearance clearance) {
  static constexpr std::array<std::string_view, 3> kNames = {"full", "unloaded_only", "no_drills"};
  return kNames[static_cast<std::size_t>(clearance)];
}

const std::vector<WarningRule>& warning_rules() {
  static const std::vector<WarningRule> rules = read_rules(embedded::plan_warning_signs_csv);
  return rules;
}

Triage triage(std::span<const body::WarningSign> signs) {
  Triage out;
  for (const WarningRule& rule : warning_rules()) {
    if (std::find(signs.begin(), signs.end(), rule.sign) == signs.end()) continue;
    out.clearance = std::max(out.clearance, rule.clearance);
    out.urgent = out.urgent || rule.urgent;
    out.referrals.push_back(rule);
  }
  std::stable_sort(out.referrals.begin(), out.referrals.end(),
                   [](const WarningRule& a, const WarningRule& b) {
                     return std::pair(a.urgent, a.clearance) > std::pair(b.urgent, b.clearance);
                   });
  return out;
}

std::string referral_text(const Triage& triage) {
  if (triage.clearance == Clearance::Full) return {};
  std::string out = triage.clearance == Clearance::NoDrills
                        ? "No drills are given, because of a warning sign."
                        : "Loaded drills are left out, because of a warning sign.";
  for (const WarningRule& rule : triage.referrals) {
    std::string label = rule.label;
    label.front() = static_cast<char>(
        label.front() - ('a' <= label.front() && label.front() <= 'z' ? 'a' - 'A' : 0));
    out += "\n" + label + ": see " + rule.whom + (rule.urgent ? " (urgent). " : ". ") + rule.advice;
  }
  return out;
}

}  // namespace lintel::plan
