// Numbers of data/plan/progression_numbers.csv, built into the program.
#pragma once

#include "body/number_table.h"

namespace lintel::plan {

const body::NumberTable& progression_numbers();

}  // namespace lintel::plan
