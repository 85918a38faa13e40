// The rows of data/plan/progression.csv and the names of rules and decisions.
#include <algorithm>
#include <array>
#include <utility>

#include "base/text.h"
#include "body/number_table.h"
#include "plan/progression.h"
#include "plan/progression_numbers.h"

namespace lintel::embedded {
extern const std::string_view plan_progression_csv;
extern const std::string_view plan_progression_numbers_csv;
}  // namespace lintel::embedded

namespace lintel::plan {
namespace {

constexpr std::array<std::string_view, 4> kDecisions = {"move_on", "hold", "go_back", "refer"};
constexpr std::array<std::string_view, 4> kDecisionLabels = {"move on", "hold", "go back", "refer"};

constexpr std::array<std::string_view, kRuleCount> kRules = {"warning_sign_at_intake",
                                                             "clinician_stop_sign",
                                                             "stopped_elsewhere",
                                                             "severe_pain",
                                                             "pain_again",
                                                             "pain_at_first_step",
                                                             "pain_above_limit",
                                                             "pain_not_settled",
                                                             "pain_rising",
                                                             "test_worse",
                                                             "lost_bar",
                                                             "position_lost_again",
                                                             "long_break",
                                                             "too_much_undone",
                                                             "effort_too_high",
                                                             "nothing_logged",
                                                             "pain_not_settled_once",
                                                             "not_recorded",
                                                             "position_lost_once",
                                                             "short_break",
                                                             "not_all_done",
                                                             "effort_near_limit",
                                                             "not_working",
                                                             "target_reached",
                                                             "too_few_sessions",
                                                             "last_step",
                                                             "next_step_loaded",
                                                             "good_sessions"};

template <std::size_t N>
int index_in(const std::array<std::string_view, N>& names, std::string_view name) {
  const auto found = std::find(names.begin(), names.end(), name);
  return found == names.end() ? -1 : static_cast<int>(found - names.begin());
}

tl::unexpected<Error> row_fault(std::string_view name, int line, std::string message) {
  Error error{ErrorCode::Invalid, std::move(message), {}, "mend the row of the table", {}};
  error.place.file = name;
  error.place.line = line;
  return fail(std::move(error));
}

Result<RuleRow> read_row(std::string_view line, std::string_view name, int number) {
  const std::vector<std::string> cells = body::split_csv_line(line);
  if (cells.size() != 4) return row_fault(name, number, "a row needs 4 columns");
  const int rule = index_in(kRules, cells[0]);
  const int decision = index_in(kDecisions, cells[1]);
  if (rule < 0) return row_fault(name, number, "unknown rule '" + cells[0] + "'");
  if (decision < 0) return row_fault(name, number, "unknown decision '" + cells[1] + "'");
  if (cells[2].empty()) return row_fault(name, number, "a rule without a sentence");
  if (cells[3].empty()) return row_fault(name, number, "a rule without a source");
  return RuleRow{static_cast<Rule>(rule), static_cast<Decision>(decision), cells[2], cells[3]};
}

}  // namespace

std::string_view decision_name(Decision decision) {
  return kDecisions[static_cast<std::size_t>(decision)];
}

std::string_view decision_label(Decision decision) {
  return kDecisionLabels[static_cast<std::size_t>(decision)];
}

std::string_view rule_name(Rule rule) {
  return kRules[static_cast<std::size_t>(rule)];
}

namespace detail {

Result<std::vector<RuleRow>> parse_progression(std::string_view csv, std::string_view name) {
  std::vector<RuleRow> rows;
  std::array<bool, kRuleCount> seen{};
  bool header = true;
  int number = 0;
  while (!csv.empty()) {
    const std::size_t end = std::min(csv.find('\n'), csv.size());
    const std::string_view line = csv.substr(0, end);
    csv.remove_prefix(std::min(end + 1, csv.size()));
    ++number;
    if (line.empty() || line.front() == '#') continue;
    if (std::exchange(header, false)) continue;
    RuleRow row = LINTEL_TRY(read_row(line, name, number));
    if (std::exchange(seen[static_cast<std::size_t>(row.rule)], true)) {
      return row_fault(name, number, "a rule that occurs twice");
    }
    rows.push_back(std::move(row));
  }
  for (std::size_t i = 0; i < seen.size(); ++i) {
    if (!seen[i]) return row_fault(name, 0, "the rule '" + std::string(kRules[i]) + "' is missing");
  }
  return rows;
}

}  // namespace detail

const std::vector<RuleRow>& progression_rules() {
  static const std::vector<RuleRow> kRows = [] {
    auto rows =
        detail::parse_progression(embedded::plan_progression_csv, "data/plan/progression.csv");
    LINTEL_CHECK(rows.has_value());
    return std::move(rows).value();
  }();
  return kRows;
}

const body::NumberTable& progression_numbers() {
  static const body::NumberTable kTable = [] {
    auto table = body::NumberTable::create(embedded::plan_progression_numbers_csv,
                                           "data/plan/progression_numbers.csv");
    LINTEL_CHECK(table.has_value());
    return std::move(table).value();
  }();
  return kTable;
}

}  // namespace lintel::plan
