#include "app/trial_records.h"

#include <cmath>
#include <utility>

#include "app/record_access.h"
#include "app/text_file.h"
#include "app/trials.h"
#include "reasoning/seen_posture.h"

namespace lintel::app {
namespace {

constexpr double kCentimetresPerMetre = 100.0;

TrialNumber angle(std::string measure, std::string label, const Estimate& e) {
  return {std::move(measure),
          std::move(label),
          "deg",
          {e.value * kDegreesPerRadian, e.standard_error * kDegreesPerRadian}};
}

TrialNumber length(std::string measure, std::string label, const Estimate& e) {
  return {std::move(measure),
          std::move(label),
          "cm",
          {e.value * kCentimetresPerMetre, e.standard_error * kCentimetresPerMetre}};
}

void add_side_numbers(const kinematics::Measurement& measurement, std::vector<TrialNumber>& out) {
  for (int c = 0; c < kinematics::kChannelCount; ++c) {
    const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(c));
    std::vector<Estimate> bottoms;
    for (const kinematics::Repetition& r : measurement.repetitions) {
      if (r.outcome != kinematics::RepetitionOutcome::Completed) continue;
      bottoms.push_back(r.channels[static_cast<std::size_t>(c)].bottom);
    }
    const auto mean = reasoning::mean_over_repetitions(bottoms);
    if (!mean) continue;
    const std::string name(info.name), label(info.label);
    out.push_back(info.unit == kinematics::ChannelUnit::Radian ? angle(name, label, *mean)
                                                               : length(name, label, *mean));
  }
  std::vector<Estimate> given;
  for (const kinematics::Repetition& r : measurement.repetitions) {
    if (r.outcome == kinematics::RepetitionOutcome::Completed) {
      given.push_back(r.shoulder_change_given);
    }
  }
  if (const auto mean = reasoning::mean_over_repetitions(given)) {
    out.push_back(angle("shoulder_change_given", "shoulder gives way", *mean));
  }
}

void add_front_numbers(const kinematics::FrontMeasurement& front, std::vector<TrialNumber>& out) {
  out.push_back(length("stance_width", "stance width", front.stance_width));
  out.push_back(length("grip_width", "grip width", front.grip_width));
  out.push_back(angle("toe_out_left", "toes out, left", front.toe_out[0]));
  out.push_back(angle("toe_out_right", "toes out, right", front.toe_out[1]));
  out.push_back(length("knee_line_left", "knee outside its line, left", front.knee_line_bottom[0]));
  out.push_back(
      length("knee_line_right", "knee outside its line, right", front.knee_line_bottom[1]));
  out.push_back(length("hip_shift", "hips to the right", front.hip_shift_bottom));
  out.push_back(angle("bar_tilt", "bar tilt", front.bar_tilt_bottom));
}

}  // namespace

Result<formats::TrialDocument> trial_of(const store::Record& record) {
  auto reading = formats::read_trial_json(record.document, "trial");
  if (reading.trial) return *std::move(reading.trial);
  Error error = joined_faults(reading.faults);
  error.code = ErrorCode::Internal;
  return fail(std::move(error));
}

Result<store::Job> add_measuring_job(store::Transaction& t, const store::Record& trial,
                                     const char* kind, const store::Author& author) {
  store::NewJob job;
  job.kind = kind;
  job.organization = trial.organization;
  job.athlete = trial.athlete;
  job.record = trial.id;
  job.created_by = author.person;
  return store::add_job(t, job, author.at);
}

Caller on_behalf_of(std::string_view person, std::string_view organization, const char* way) {
  Caller caller;
  caller.person = person;
  caller.organization = organization;
  caller.session = way;
  return caller;
}

Result<TrialAndJob> add_trial(store::Transaction& t, const Practice& practice, const Caller& caller,
                              const NewTrial& trial) {
  formats::TrialDocument document;
  document.edit = trial.edit;
  document.clip = trial.clip;
  store::NewRecord record;
  record.kind = store::RecordKind::Trial;
  record.organization = trial.visit.organization;
  record.athlete = trial.visit.athlete;
  record.parent = trial.visit.id;
  record.document = formats::write_trial_json(document);
  record.index = trial_index(trial.visit.document, {});
  TrialAndJob out;
  out.trial = LINTEL_TRY(add_record(t, practice, caller, record));
  LINTEL_TRY_VOID(store::refer_to_media(t, out.trial.id, trial.clip.sha256, trial.clip.bytes,
                                        trial.clip.media_type));
  out.job = LINTEL_TRY(add_measuring_job(t, out.trial, kMeasureClip, author_of(practice, caller)));
  return out;
}

Result<void> cancel_open_jobs(store::Transaction& t, const store::Record& trial,
                              std::string_view now) {
  for (const store::JobState state : {store::JobState::Waiting, store::JobState::Running}) {
    store::JobQuery query;
    query.organization = trial.organization;
    query.record = trial.id;
    query.state = state;
    const store::JobPage page = LINTEL_TRY(store::list_jobs(t, query, {"", 500}));
    for (const store::Job& job : page.jobs) {
      LINTEL_TRY(store::ask_cancel(t, trial.organization, job.id, now));
    }
  }
  return {};
}

std::vector<TrialNumber> trial_numbers(const formats::StoredAssessment& assessment) {
  std::vector<TrialNumber> numbers;
  if (assessment.side) add_side_numbers(*assessment.side, numbers);
  if (assessment.front_view) add_front_numbers(*assessment.front_view, numbers);
  std::erase_if(numbers, [](const TrialNumber& n) {
    return !std::isfinite(n.value.value) || !std::isfinite(n.value.standard_error);
  });
  return numbers;
}

std::optional<formats::StoredAssessment> stored_assessment(const Practice& practice,
                                                           const formats::TrialDocument& trial) {
  constexpr std::uintmax_t kLargest = 16u << 20;  // [bytes], as the reader's own limit
  const formats::StoredFile* file = trial.result("assessment.json");
  if (file == nullptr) return {};
  const auto path = practice.media->path_of(file->sha256);
  if (!path) return {};
  const auto text = read_text_file(*path, kLargest, "");
  if (!text) return {};
  auto assessment = formats::read_assessment_json(*text, file->name);
  if (!assessment) return {};
  return *std::move(assessment);
}

store::IndexRows trial_index(std::string_view visit_document,
                             const std::vector<TrialNumber>& numbers) {
  store::IndexRows index;
  index.date = formats::date_of_visit(visit_document);
  for (const TrialNumber& n : numbers) {
    index.measures.push_back(
        {n.measure, index.date, n.unit, n.value.value, n.value.standard_error});
  }
  return index;
}

}  // namespace lintel::app
