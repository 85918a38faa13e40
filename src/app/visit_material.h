// Everything that is known at one visit, out of its records: what findings, plans and exports start
// from.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "app/library.h"
#include "app/record_access.h"
#include "app/seen_squat.h"
#include "body/test_outcome.h"
#include "formats/intake_json.h"
#include "formats/visit_json.h"
#include "reasoning/finding.h"

namespace lintel::app {

struct VisitMaterial {
  SharedLibrary library;  // by which the tests are read
  store::Record visit, athlete_record;
  formats::VisitDocument document;
  formats::Intake intake;
  body::Athlete before;  // the athlete with the tests of earlier visits filled in
  body::Athlete tested;  // and with those of this one
  std::optional<store::Record> tests;
  std::optional<body::TestRecord> record;  // the same, read
  std::vector<reasoning::Overruling> overrulings;
  std::string trial;                 // id; empty = no measured clip of the side
  std::string assessment_sha256;     // of its assessment
  std::filesystem::path assessment;  // where it is
  SeenSquat seen;  // of that clip; without one, the trunk that was typed into the visit
};

// permission: what the caller is about to do with it. `trial`: use this one; empty = the newest
// measured side view of the visit, if there is any. Errors: those of access; NotFound for a trial
// that is not of this visit or not measured; those of the assessment.
Result<VisitMaterial> gather_visit(Practice& practice, const Caller& caller, Permission permission,
                                   std::string_view visit, std::string_view trial = {});

// The athlete with the tests of all visits up to `last` filled in (empty = all), the oldest first;
// visits other than `but`.
Result<body::Athlete> with_tests_of_visits(store::Transaction& t, const Caller& caller,
                                           const Library& library, const formats::Intake& intake,
                                           const std::string& athlete, const std::string& last,
                                           std::string_view but);

}  // namespace lintel::app
