// What the API answers about jobs, uploads, hand-offs, comparisons and the live view.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/units.h"
#include "kinematics/observation.h"

namespace lintel::formats {

struct JobFacts {
  std::string id, kind, state, athlete, record, stage;
  double done = 0.0, total = 0.0;
  int attempts = 0;
  bool cancel_asked = false;
  std::string error_code, error_message, error_mend;  // of the last attempt; empty = none
  std::string not_before, created_at, changed_at, started_at, finished_at;
};
std::string write_job_json(const JobFacts& job);

struct UploadFacts {
  std::string id, name, sha256, expires_at;  // sha256 empty = not complete
  std::int64_t offset = 0, bytes = 0, chunk_bytes = 0;
  std::string trial;  // that a hand-off's clip became; empty = none
};
std::string write_upload_json(const UploadFacts& upload);

// The body of a POST that begins an upload.
struct UploadBody {
  std::string name, sha256;
  std::int64_t bytes = 0;
};
struct UploadBodyReading {
  std::optional<UploadBody> body;
  std::vector<Error> faults;
};
UploadBodyReading read_upload_body_json(std::string_view text);

struct HandOffFacts {
  std::string url, qr_svg, expires_at, advice;
  bool reachable = true;  // by a phone, as far as the address tells
};
std::string write_hand_off_json(const HandOffFacts& hand_off);
std::string write_hand_off_visit_json(std::string_view first_name, std::string_view date,
                                      std::string_view expires_at);

// One measure of two clips, in its unit.
struct ComparedMeasure {
  std::string measure, label, unit;
  std::optional<Estimate> a, b;
};
struct ComparisonFacts {
  std::string a, b;  // ids of the trials
  std::vector<ComparedMeasure> measures;
};
// "lintel-comparison-1": of each measure both values, the difference b - a, its standard error, and
// whether it is real: larger than 1.96 standard errors. Null where it cannot be told.
std::string write_comparison_json(const ComparisonFacts& comparison);

struct LiveFacts {
  int width_px = 0, height_px = 0;
  const kinematics::BodyObservation* body = nullptr;
  const kinematics::DiscObservation* bar = nullptr;
  std::optional<double> trunk_inclination;  // [rad]
  double milliseconds = 0;
};
std::string write_live_json(const LiveFacts& live);

}  // namespace lintel::formats
