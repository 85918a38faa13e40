// Files for other programs: one athlete's visit as HL7 FHIR R4.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "app/text_file.h"
#include "base/result.h"
#include "formats/assessment_reader.h"
#include "formats/fhir_json.h"

namespace lintel::app {

struct FhirRequest {
  std::filesystem::path athlete;                    // athlete.json
  std::optional<std::filesystem::path> tests;       // lintel-tests-1
  std::optional<std::filesystem::path> protocols;   // folder of own protocols
  std::optional<std::filesystem::path> assessment;  // assessment.json of a clip
  std::optional<std::filesystem::path> plan;        // lintel-plan-1
  // ISO 8601 day of the visit; empty = that of the tests, else of the clip, else of the plan.
  std::string date;
  std::optional<std::filesystem::path> output;  // the bundle; empty = no file
  ExistingFile existing = ExistingFile::Keep;
};

struct FhirOutcome {
  std::string text;  // what went into it, with the cautions
  std::string json;  // the bundle
};

// Errors: those of the files (every fault with line and field); Conflict when tests, assessment or
// plan are of another athlete, when the plan was made before a warning sign that the athlete's file
// has, or when the output exists; Invalid for a bad date, or none to be found; Io.
Result<FhirOutcome> export_fhir(const FhirRequest& request);

// What a clip gives to a bundle: means over its completed repetitions. The date is left to the
// caller.
formats::FhirSquat squat_of(const formats::StoredAssessment& stored);
// The day of the clip or else of the assessment. Errors: Invalid when it has neither.
Result<Date> day_of_assessment(const formats::StoredAssessment& stored);

}  // namespace lintel::app
