// From the answers of reasoning/ to the plain data that pages and files show.
#pragma once

#include <string>
#include <vector>

#include "reasoning/change_text.h"
#include "reasoning/explain.h"
#include "view/explanation.h"

namespace lintel::app {

view::Explanation to_view(const reasoning::ExplainResult& result);

// The tests to ask for where none was done, for people.
std::vector<std::string> core_test_labels();

}  // namespace lintel::app
