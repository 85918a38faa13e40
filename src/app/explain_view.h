// From the answers of reasoning/ to the plain data that pages and files show.
#pragma once

#include <string>
#include <vector>

#include "reasoning/explain.h"
#include "view/explanation.h"

namespace lintel::app {

view::Explanation to_view(const reasoning::ExplainResult& result);

// The tests to ask for where none was done, for people.
std::vector<std::string> core_test_labels();

// "Heels up from 0 to 1.3 cm": one change, or several joined.
std::string describe_change(const reasoning::Change& change);
std::string describe_changes(const std::vector<reasoning::Change>& changes);

}  // namespace lintel::app
