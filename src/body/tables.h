// The tables of data/ that are built into the program.
#pragma once

#include "body/number_table.h"

namespace lintel::body {

// Each is read once, at first use; safe from any thread.
const NumberTable& segment_length_table();  // data/anthropometry/segment-lengths.csv
const NumberTable& body_segment_table();    // data/anthropometry/body-segments.csv
const NumberTable& range_table();           // data/mobility/ranges.csv
const NumberTable& limit_table();           // data/mobility/limits.csv
const NumberTable& test_table();            // data/mobility/tests.csv

}  // namespace lintel::body
