// Curves of the measured clip as CSV (RFC 4180), and the note that goes with the files.
#pragma once

#include <span>
#include <string>

#include "kinematics/measurement.h"

namespace lintel::formats {

// One row a frame: time_s, frame, then for each channel raw, filtered, fitted, standard_error and
// rate, with the unit at the end of each header ("trunk_inclination_fitted_deg",
// "bar_x_rate_cm_per_s"). Empty cell = no value. Lines end with CR LF; the decimal mark is a point.
std::string write_curves_csv(const kinematics::Measurement& measurement);

struct OutputFile {
  std::string name;         // "curves.csv"
  std::string description;  // one line
};

// README.txt for the folder of an assessment: what each file is, and the cautions, which CSV
// itself has no place for.
std::string write_output_readme(std::string_view title, std::span<const OutputFile> files);

}  // namespace lintel::formats
