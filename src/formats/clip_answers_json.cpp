#include "formats/clip_answers_json.h"

#include <cmath>

#include "formats/field_reader.h"
#include "formats/json_cautions.h"
#include "formats/json_numbers.h"

namespace lintel::formats {
namespace {

std::string dumped(const Json& json) {
  return json.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Json or_null(const std::string& text) {
  return text.empty() ? Json(nullptr) : Json(text);
}

}  // namespace

std::string write_job_json(const JobFacts& job) {
  Json json = {{"id", job.id},
               {"kind", job.kind},
               {"state", job.state},
               {"stage", job.stage},
               {"done", number(job.done)},
               {"total", number(job.total)},
               {"attempts", job.attempts},
               {"cancel_asked", job.cancel_asked},
               {"athlete", or_null(job.athlete)},
               {"trial", or_null(job.record)},
               {"not_before", or_null(job.not_before)},
               {"created_at", job.created_at},
               {"changed_at", job.changed_at},
               {"started_at", or_null(job.started_at)},
               {"finished_at", or_null(job.finished_at)}};
  json["problem"] = nullptr;
  if (!job.error_code.empty()) {
    json["problem"] = {{"title", job.error_code},
                       {"detail", job.error_message},
                       {"mend", or_null(job.error_mend)}};
  }
  return dumped(json);
}

std::string write_upload_json(const UploadFacts& upload) {
  Json json = {{"id", upload.id},
               {"name", upload.name},
               {"offset", upload.offset},
               {"bytes", upload.bytes},
               {"chunk_bytes", upload.chunk_bytes},
               {"complete", !upload.sha256.empty()},
               {"sha256", or_null(upload.sha256)},
               {"expires_at", upload.expires_at}};
  if (!upload.trial.empty()) json["trial"] = upload.trial;
  return dumped(json);
}

UploadBodyReading read_upload_body_json(std::string_view text) {
  constexpr std::size_t kLongestName = 200;
  constexpr double kMostBytes = 1e15;
  UploadBodyReading reading;
  FaultList faults;
  JsonLimits limits;
  limits.bytes = 16 * 1024;
  limits.depth = 2;
  auto root = parse_json(text, limits);
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    FieldReader fields(faults);
    UploadBody body;
    if (fields.is_kind(*root, "the body", JsonKind::Object)) {
      fields.check_keys(*root, "", {"name", "bytes", "sha256"});
      body.name = fields.text(*root, "", "name", Presence::Required, kLongestName);
      const auto bytes =
          fields.number(*root, "", "bytes", Presence::Required, {1, kMostBytes, "bytes"});
      body.bytes = static_cast<std::int64_t>(bytes.value_or(0));
      if (bytes && static_cast<double>(body.bytes) != *bytes) {
        faults.add(*root, "bytes", "is not a whole number");
      }
      const JsonValue* digest = root->find("sha256");
      if (digest != nullptr && digest->kind != JsonKind::Null) {
        body.sha256 = fields.text(*root, "", "sha256", Presence::Optional, 64);
        const bool good = body.sha256.size() == 64 &&
                          body.sha256.find_first_not_of("0123456789abcdef") == std::string::npos;
        if (!good) faults.add(*digest, "sha256", "must be 64 digits 0-9a-f");
      }
    }
    if (faults.empty()) reading.body = std::move(body);
  }
  reading.faults = sorted_faults(faults, "");
  return reading;
}

std::string write_hand_off_json(const HandOffFacts& hand_off) {
  return dumped({{"url", hand_off.url},
                 {"qr_svg", hand_off.qr_svg},
                 {"expires_at", hand_off.expires_at},
                 {"reachable", hand_off.reachable},
                 {"advice", or_null(hand_off.advice)}});
}

std::string write_hand_off_visit_json(std::string_view first_name, std::string_view date,
                                      std::string_view expires_at) {
  return dumped(
      {{"athlete_first_name", first_name}, {"visit_date", date}, {"expires_at", expires_at}});
}

std::string write_comparison_json(const ComparisonFacts& comparison) {
  constexpr double kTwoSided95 = 1.96;
  Json measures = Json::array();
  for (const ComparedMeasure& m : comparison.measures) {
    Json json = {{"measure", m.measure}, {"label", m.label}, {"unit", m.unit}};
    json["a"] = m.a ? number(m.a->value) : Json(nullptr);
    json["a_error"] = m.a ? number(m.a->standard_error) : Json(nullptr);
    json["b"] = m.b ? number(m.b->value) : Json(nullptr);
    json["b_error"] = m.b ? number(m.b->standard_error) : Json(nullptr);
    json["difference"] = json["error"] = json["real"] = nullptr;
    if (m.a && m.b) {
      const double difference = m.b->value - m.a->value;
      const double error = std::hypot(m.a->standard_error, m.b->standard_error);
      json["difference"] = number(difference);
      json["error"] = number(error);
      if (std::isfinite(error) && error > 0) {
        json["real"] = std::abs(difference) > kTwoSided95 * error;
      }
    }
    measures.push_back(std::move(json));
  }
  return dumped({{"schema", "lintel-comparison-1"},
                 {"a", comparison.a},
                 {"b", comparison.b},
                 {"measures", std::move(measures)},
                 {"cautions", cautions_json()}});
}

std::string write_live_json(const LiveFacts& live) {
  constexpr int kPixelDigits = 10;  // tenths of a pixel
  const auto pixel = [](float value) {
    return number(std::round(static_cast<double>(value) * kPixelDigits) / kPixelDigits);
  };
  Json landmarks = Json::array();
  if (live.body != nullptr) {
    for (int i = 0; i < kinematics::kLandmarkCount; ++i) {
      const auto which = static_cast<kinematics::Landmark>(i);
      const kinematics::LandmarkObservation& seen = (*live.body)[which];
      landmarks.push_back({{"name", kinematics::landmark_name(which)},
                           {"x_px", pixel(seen.position_px.x())},
                           {"y_px", pixel(seen.position_px.y())},
                           {"confidence", number(static_cast<double>(seen.confidence))}});
    }
  }
  Json bar = nullptr;
  if (live.bar != nullptr) {
    bar = {{"x_px", pixel(live.bar->center_px.x())},
           {"y_px", pixel(live.bar->center_px.y())},
           {"radius_px", pixel(live.bar->semi_major_px)}};
  }
  return dumped(
      {{"width_px", live.width_px},
       {"height_px", live.height_px},
       {"landmarks", std::move(landmarks)},
       {"trunk_deg", live.trunk_inclination ? number(*live.trunk_inclination * kDegrees) : nullptr},
       {"bar", std::move(bar)},
       {"ms", number(live.milliseconds)}});
}

}  // namespace lintel::formats
