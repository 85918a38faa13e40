// A change of the setup or of a range in words, in the units that a person sets up.
#pragma once

#include <string>
#include <vector>

#include "reasoning/what_if.h"

namespace lintel::reasoning {

std::string describe_change(const Change& change);  // "Grip wider: 95 cm between ..."
// One sentence without its full stop; "No change" for none.
std::string describe_changes(const std::vector<Change>& changes);

}  // namespace lintel::reasoning
