#include "app/exchange_use_case.h"

#include <algorithm>
#include <map>

#include "app/athlete_file.h"
#include "app/test_library.h"
#include "app/text_blocks.h"
#include "app/version.h"
#include "base/text.h"
#include "body/test_outcome.h"
#include "formats/assessment_reader.h"
#include "formats/fhir_json.h"
#include "formats/located_json.h"
#include "formats/plan_json.h"
#include "formats/test_record_json.h"
#include "reasoning/seen_posture.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestRecord = 1u << 20;  // [bytes], as the readers' own limits
constexpr std::uintmax_t kLargestPlan = 2u << 20;
constexpr std::uintmax_t kLargestAssessment = 16u << 20;

struct Visit {
  body::Athlete athlete;
  std::vector<body::TestProtocol> protocols;
  std::optional<body::TestRecord> record;
  std::optional<body::RecordOutcome> tests;  // points into protocols and record
  std::optional<formats::FhirSquat> squat;
  std::optional<plan::Plan> plan;
};

tl::unexpected<Error> conflict(const std::filesystem::path& file, std::string field,
                               std::string message, std::string mend) {
  Error error{ErrorCode::Conflict, std::move(message), {}, std::move(mend), {}};
  error.with_file(file.filename().string());
  error.place.field = std::move(field);
  return fail(std::move(error));
}

tl::unexpected<Error> other_athlete(const std::filesystem::path& file, std::string field,
                                    const std::string& found, const std::string& wanted) {
  return conflict(file, std::move(field), "is \"" + found + "\", the athlete is \"" + wanted + "\"",
                  "give the file of this athlete");
}

Result<void> read_tests(const FhirRequest& request, Visit& visit) {
  if (!request.tests) return {};
  const std::string name = request.tests->filename().string();
  const std::string bytes = LINTEL_TRY(read_text_file(
      *request.tests, kLargestRecord, "give the record of the visit (lintel-tests-1)"));
  auto reading = formats::read_test_record_json(bytes, name, visit.protocols);
  if (!reading.record) return fail(joined_faults(reading.faults));
  visit.record = std::move(reading.record);
  visit.tests =
      LINTEL_TRY(body::evaluate_record(*visit.record, visit.protocols, visit.athlete)
                     .map_error([&name](Error e) { return std::move(e.with_file(name)); }));
  return {};
}

// The mean of one quantity over the repetitions that have it.
void add_mean(std::string channel, std::string label, bool is_length,
              const std::vector<Estimate>& values, formats::FhirSquat& squat) {
  const auto mean = reasoning::mean_over_repetitions(values);
  if (!mean) return;
  squat.measures.push_back({std::move(channel), std::move(label), is_length, *mean});
}

Result<void> read_squat(const FhirRequest& request, Visit& visit) {
  if (!request.assessment) return {};
  const std::filesystem::path& file = *request.assessment;
  const std::string bytes = LINTEL_TRY(
      read_text_file(file, kLargestAssessment, "give the assessment.json of a results folder"));
  const auto stored = LINTEL_TRY(formats::read_assessment_json(bytes, file.filename().string()));
  const view::Assessment& facts = stored.facts;
  if (!facts.athlete_id.empty() && facts.athlete_id != visit.athlete.id) {
    return other_athlete(file, "athlete.id", facts.athlete_id, visit.athlete.id);
  }
  visit.squat = squat_of(stored);
  visit.squat->date = LINTEL_TRY(day_of_assessment(stored).map_error(
      [&file](Error e) { return std::move(e.with_file(file.filename().string())); }));
  return {};
}

Result<void> read_plan(const FhirRequest& request, Visit& visit) {
  if (!request.plan) return {};
  const std::filesystem::path& file = *request.plan;
  const std::string bytes =
      LINTEL_TRY(read_text_file(file, kLargestPlan, "give the plan.json of a plan"));
  auto reading = formats::read_plan_json(bytes, file.filename().string());
  if (!reading.plan) return fail(joined_faults(reading.faults));
  if (reading.plan->athlete_id != visit.athlete.id) {
    return other_athlete(file, "athlete.id", reading.plan->athlete_id, visit.athlete.id);
  }
  const auto& known = reading.plan->warning_signs;
  for (const body::WarningSign sign : visit.athlete.warning_signs) {
    if (std::find(known.begin(), known.end(), sign) != known.end()) continue;
    return conflict(file, "warning_signs",
                    "the plan does not know of \"" + std::string(body::warning_sign_name(sign)) +
                        "\", which the athlete's file has",
                    "make a new plan");
  }
  visit.plan = std::move(reading.plan);
  return {};
}

Result<Date> day_of(const FhirRequest& request, const Visit& visit) {
  const auto named = [](Error error) {
    error.place.field = "date";
    return error;
  };
  if (!request.date.empty()) return Date::parse(request.date).map_error(named);
  if (visit.record) return visit.record->date;
  if (visit.squat) return visit.squat->date;
  if (visit.plan) return visit.plan->from;
  return fail(named(Error{ErrorCode::Invalid,
                          "the day of the visit is not known",
                          {},
                          "give it, or tests, an assessment or a plan",
                          {}}));
}

// "Observation 14, Goal 2, ..."
std::string contents_of(const std::string& bundle) {
  formats::JsonLimits limits;
  limits.bytes = bundle.size();
  limits.values = bundle.size();
  const auto root = formats::parse_json(bundle, limits);
  LINTEL_CHECK(root.has_value());
  std::map<std::string, int> counts;
  for (const formats::JsonValue& entry : root->find("entry")->items) {
    ++counts[entry.find("resource")->find("resourceType")->text];
  }
  std::string out;
  for (const auto& [type, count] : counts) {
    out += (out.empty() ? "" : ", ") + type + text(" %d", count);
  }
  return out;
}

}  // namespace

formats::FhirSquat squat_of(const formats::StoredAssessment& stored) {
  formats::FhirSquat squat;
  squat.clip = stored.facts.clip.file_name;
  squat.clip_sha256 = stored.facts.clip.sha256;
  if (!stored.side) return squat;
  std::vector<const kinematics::Repetition*> completed;
  for (const kinematics::Repetition& repetition : stored.side->repetitions) {
    if (repetition.outcome == kinematics::RepetitionOutcome::Completed) {
      completed.push_back(&repetition);
    }
  }
  squat.repetitions = static_cast<int>(completed.size());
  std::vector<Estimate> values;
  for (std::size_t c = 0; c < kinematics::kChannelCount; ++c) {
    values.clear();
    for (const auto* repetition : completed) values.push_back(repetition->channels[c].bottom);
    const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(c));
    add_mean(std::string(info.name), std::string(info.label),
             info.unit == kinematics::ChannelUnit::Metre, values, squat);
  }
  values.clear();
  for (const auto* repetition : completed) values.push_back(repetition->shoulder_change_given);
  add_mean("shoulder_change_given", "shoulder change", false, values, squat);
  return squat;
}

Result<Date> day_of_assessment(const formats::StoredAssessment& stored) {
  // A day, of a date or of a date and time.
  auto day = Date::parse(stored.facts.clip.recorded_on.substr(0, 10));
  if (!day) day = Date::parse(stored.facts.assessed_on.substr(0, 10));
  if (day) return *day;
  Error error{ErrorCode::Invalid,
              "neither the clip nor the assessment has a date",
              {},
              "assess the clip again with --date",
              {}};
  error.place.field = "assessed_on";
  return fail(std::move(error));
}

Result<FhirOutcome> export_fhir(const FhirRequest& request) {
  Visit visit;
  visit.protocols = LINTEL_TRY(load_protocols(request.protocols));
  visit.athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  LINTEL_TRY_VOID(read_tests(request, visit));
  LINTEL_TRY_VOID(read_squat(request, visit));
  LINTEL_TRY_VOID(read_plan(request, visit));
  formats::FhirVisit input;
  input.date = LINTEL_TRY(day_of(request, visit));
  input.athlete = &visit.athlete;
  input.record = visit.record ? &*visit.record : nullptr;
  input.tests = visit.tests ? &*visit.tests : nullptr;
  input.squat = visit.squat ? &*visit.squat : nullptr;
  input.plan = visit.plan ? &*visit.plan : nullptr;
  input.program_version = version();
  FhirOutcome outcome;
  outcome.json = formats::write_fhir_bundle(input);
  if (request.output) {
    LINTEL_TRY_VOID(write_text_file(*request.output, outcome.json, request.existing));
    outcome.text = "File: " + request.output->string() + "\n";
  }
  outcome.text += wrapped(
      "FHIR R4 bundle of the visit on " + input.date.iso() + ": " + contents_of(outcome.json) + ".",
      "", "  ");
  outcome.text += cautions_block();
  return outcome;
}

}  // namespace lintel::app
