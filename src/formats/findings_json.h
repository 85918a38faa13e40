// Findings, setups to film and tests to do next as "lintel-findings-1"
// (docs/schema/findings.schema.json).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "reasoning/finding.h"
#include "reasoning/setups_to_film.h"
#include "reasoning/test_choice.h"

namespace lintel::formats {

// Everything of one athlete that the document shows; not owned.
struct FindingsDocument {
  std::string_view athlete_id;  // empty = null
  std::string_view assessment;  // empty = null
  const reasoning::Findings& findings;
  const std::vector<reasoning::SetupToFilm>& setups;
  const reasoning::TestChoice& tests;
  const std::vector<reasoning::Target>& targets;
  const std::vector<std::string>& remarks;  // for people; may be empty
};

// Units in the keys; what is not known is null. Computed values stay beside every overruling.
// Carries the cautions. Never fails.
std::string write_findings_json(const FindingsDocument& document);

}  // namespace lintel::formats
