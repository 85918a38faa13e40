// One athlete's visit as an HL7 FHIR R4 (4.0.1) Bundle of type "collection", for other systems.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/date.h"
#include "base/result.h"
#include "body/athlete.h"
#include "body/test_outcome.h"
#include "kinematics/measurement.h"
#include "plan/plan.h"

namespace lintel::formats {

// A squat that a clip was taken of: means over its completed repetitions.
struct FhirSquat {
  struct Measure {
    std::string channel;     // "trunk_inclination": the code is "squat_" with it
    std::string label;       // for people
    bool is_length = false;  // [m], else [rad]
    Estimate mean;
  };
  Date date;
  std::string clip, clip_sha256;  // may be empty
  int repetitions = 0;
  std::vector<Measure> measures;
};

// The lean at the lowest point that a person typed in, where nothing was filmed.
struct FhirTypedTrunk {
  Estimate inclination;  // [rad], with the error that the person states
  std::string method;    // "eye", "still", "inclinometer", "goniometer"
};

struct FhirVisit {
  const body::Athlete* athlete = nullptr;      // not owned, must be there
  Date date;                                   // of the visit
  const body::TestRecord* record = nullptr;    // with `tests`, or neither
  const body::RecordOutcome* tests = nullptr;  // of `record`
  const FhirSquat* squat = nullptr;
  const plan::Plan* plan = nullptr;
  std::string program_version;  // "0.1.0"
  std::optional<FhirTypedTrunk> typed_trunk = {};
};

// Entries: our CodeSystem, Patient, Encounter, Device, Observation (stature, mass, warning signs,
// every test result, every squat measure, a lean that was typed in), Goal, CarePlan,
// DiagnosticReport. UCUM units; the standard error is a component of its own. Every id is the UUID
// of what it is about (secure/uuid.h), so the same visit gives the same file; no address of
// anybody's is used. Plan and report carry the cautions. Never fails: broken UTF-8 is replaced.
std::string write_fhir_bundle(const FhirVisit& visit);

}  // namespace lintel::formats
