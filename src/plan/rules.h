// Numbers of data/plan/rules.csv, built into the program.
#pragma once

#include "body/number_table.h"

namespace lintel::plan {

const body::NumberTable& plan_rules();

}  // namespace lintel::plan
