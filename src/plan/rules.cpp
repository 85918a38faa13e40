#include "plan/rules.h"

#include <string_view>

namespace lintel::embedded {
extern const std::string_view plan_rules_csv;
}

namespace lintel::plan {

const body::NumberTable& plan_rules() {
  static const body::NumberTable table = [] {
    auto read = body::NumberTable::create(embedded::plan_rules_csv, "data/plan/rules.csv");
    LINTEL_CHECK(read.has_value());
    return std::move(read).value();
  }();
  return table;
}

}  // namespace lintel::plan
