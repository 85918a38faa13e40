// Numbers of data/reasoning/defaults.csv, built into the program.
#pragma once

#include "body/number_table.h"

namespace lintel::reasoning {

const body::NumberTable& default_table();

}  // namespace lintel::reasoning
