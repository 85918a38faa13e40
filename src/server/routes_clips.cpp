// Routes about clips: uploads, trials and what was measured, jobs, hand-off to a phone, live view.
#include <algorithm>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>
#include <utility>

#include "app/hand_off.h"
#include "app/live.h"
#include "app/trials.h"
#include "app/uploads.h"
#include "server/route_tools.h"
#include "server/routes.h"

namespace lintel::server {
namespace {

using app::Permission;
using app::Practice;

constexpr std::size_t kChunkBody = static_cast<std::size_t>(app::kChunkBytes);
constexpr std::size_t kTrialBody = std::size_t{4} << 20;
constexpr std::size_t kPictureBody = std::size_t{2} << 20;
constexpr int kSecretsPerMinute = 120;  // guesses of one peer; an upload has few requests

std::string parameter(const Call& call, const char* name) {
  return call.path.at(name);
}

// ---- Uploads

Response upload_answer(const app::UploadState& state, std::string json, int status = 200) {
  return Response::json(std::move(json), status)
      .with("upload-offset", std::to_string(state.offset));
}

// HEAD has no body to carry the state.
Response offset_answer(const app::UploadState& state) {
  return Response::empty(200)
      .with("upload-offset", std::to_string(state.offset))
      .with("upload-length", std::to_string(state.bytes))
      .with("upload-complete", state.complete() ? "?1" : "?0")
      .with("cache-control", "no-store");
}

Result<app::ContentRange> content_range(const Call& call) {
  return app::parse_content_range(call.request.header("content-range"));
}

Result<Response> post_upload(Practice& practice, const Call& call) {
  const std::string_view text = LINTEL_TRY(json_text(call.request));
  const app::UploadRequest request = LINTEL_TRY(app::read_upload_request(text));
  const app::UploadState state = LINTEL_TRY(app::begin_upload(practice, call.caller, request));
  return created(app::upload_json(state), "/api/v1/uploads/" + state.id);
}

Result<Response> head_upload(Practice& practice, const Call& call) {
  return offset_answer(LINTEL_TRY(app::find_upload(practice, call.caller, parameter(call, "id"))));
}

Result<Response> put_upload(Practice& practice, const Call& call) {
  const app::ContentRange range = LINTEL_TRY(content_range(call));
  const app::UploadState state = LINTEL_TRY(
      app::put_chunk(practice, call.caller, parameter(call, "id"), range, call.request.body));
  return upload_answer(state, app::upload_json(state));
}

Result<Response> delete_upload(Practice& practice, const Call& call) {
  LINTEL_TRY_VOID(app::drop_upload(practice, call.caller, parameter(call, "id")));
  return Response::empty();
}

// ---- Trials

Result<Response> post_trial(Practice& practice, const Call& call) {
  const std::string_view text = LINTEL_TRY(json_text(call.request));
  app::TrialAnswer answer =
      LINTEL_TRY(app::make_trial(practice, call.caller, parameter(call, "visit"), text));
  return created(std::move(answer.json), "/api/v1/trials/" + answer.id, answer.version);
}

Result<Response> get_trials(Practice& practice, const Call& call) {
  const PageQuery page = LINTEL_TRY(page_query(call.request));
  return Response::json(LINTEL_TRY(
      app::list_trials(practice, call.caller, parameter(call, "visit"), {page.after, page.limit})));
}

Result<Response> get_trial(Practice& practice, const Call& call) {
  app::TrialAnswer answer =
      LINTEL_TRY(app::find_trial(practice, call.caller, parameter(call, "trial")));
  return json_with_version(std::move(answer.json), answer.version);
}

Result<Response> put_trial(Practice& practice, const Call& call) {
  const std::string_view text = LINTEL_TRY(json_text(call.request));
  const std::int64_t version = LINTEL_TRY(if_match(call.request));
  app::TrialAnswer answer =
      LINTEL_TRY(app::edit_trial(practice, call.caller, parameter(call, "trial"), version, text,
                                 query_text(call.request, "reason")));
  return json_with_version(std::move(answer.json), answer.version);
}

// ?version= of the record: what that version had.
Result<std::int64_t> version_query(const Call& call) {
  constexpr std::int64_t kMost = std::int64_t{1} << 40;
  return query_integer(call.request, "version", 0, 0, kMost);
}

Result<Response> get_assessment(Practice& practice, const Call& call) {
  const std::int64_t version = LINTEL_TRY(version_query(call));
  app::TrialAnswer answer =
      LINTEL_TRY(app::trial_assessment(practice, call.caller, parameter(call, "trial"), version));
  return json_with_version(std::move(answer.json), answer.version);
}

Result<Response> file_answer(Practice& practice, const Call& call, const std::string& name) {
  const std::int64_t version = LINTEL_TRY(version_query(call));
  app::TrialFile file =
      LINTEL_TRY(app::trial_file(practice, call.caller, parameter(call, "trial"), name, version));
  return Response::file(std::move(file.path), file.media_type);
}

Result<Response> get_file(Practice& practice, const Call& call) {
  return file_answer(practice, call, parameter(call, "name"));
}

Result<Response> get_clip(Practice& practice, const Call& call) {
  app::TrialFile file =
      LINTEL_TRY(app::trial_clip(practice, call.caller, parameter(call, "trial")));
  return Response::file(std::move(file.path), file.media_type);
}

Result<Response> post_comparison(Practice& practice, const Call& call) {
  const std::string other = LINTEL_TRY(required_query(call.request, "with"));
  return Response::json(
      LINTEL_TRY(app::compare_trials(practice, call.caller, parameter(call, "trial"), other)));
}

// ---- Jobs

Result<Response> get_jobs(Practice& practice, const Call& call) {
  const PageQuery page = LINTEL_TRY(page_query(call.request));
  return Response::json(
      LINTEL_TRY(app::list_jobs(practice, call.caller, query_text(call.request, "state"),
                                query_text(call.request, "trial"), {page.after, page.limit})));
}

Result<Response> get_job(Practice& practice, const Call& call) {
  return Response::json(
      LINTEL_TRY(app::find_job(practice, call.caller, parameter(call, "job"))).json);
}

Result<Response> delete_job(Practice& practice, const Call& call) {
  return Response::json(
      LINTEL_TRY(app::cancel_job(practice, call.caller, parameter(call, "job"))).json);
}

Result<Response> post_retry(Practice& practice, const Call& call) {
  return Response::json(
      LINTEL_TRY(app::retry_job(practice, call.caller, parameter(call, "job"))).json);
}

const char* event_name(store::JobState state) {
  switch (state) {
    case store::JobState::Waiting:
    case store::JobState::Running:
      break;
    case store::JobState::Done:
      return "done";
    case store::JobState::Failed:
      return "failed";
    case store::JobState::Cancelled:
      return "cancelled";
  }
  return "progress";
}

// One event whenever the job has changed; the last one when it has ended.
Result<Response> get_job_events(Practice& practice, const Call& call) {
  const std::string id = parameter(call, "job");
  LINTEL_TRY(app::find_job(practice, call.caller, id));
  EventSource source;
  source.next = [&practice, caller = call.caller, id](std::string_view last_id) {
    EventBatch batch;
    const auto job = app::find_job(practice, caller, id);
    if (!job) {
      batch.last = true;
      return batch;
    }
    const char* name = event_name(job->state);
    batch.last = std::string_view(name) != "progress";
    if (batch.last || last_id != job->changed_at) {
      batch.events.push_back({job->changed_at, name, job->json});
    }
    return batch;
  };
  Response response;
  response.body = std::move(source);
  return response;
}

// ---- Hand-off

Result<Response> post_hand_off(Practice& practice, const Call& call) {
  const Request& request = call.request;
  const app::ReachableAddress address =
      app::reachable_address(practice.settings.listen, request.header("host"), request.tls);
  return Response::json(LINTEL_TRY(app::offer_hand_off(practice, call.caller,
                                                       parameter(call, "visit"), address)),
                        201)
      .with("cache-control", "no-store");
}

Result<Response> get_hand_off(Practice& practice, const Call& call) {
  return Response::json(LINTEL_TRY(app::open_hand_off(practice, parameter(call, "secret"))));
}

Result<Response> post_hand_off_upload(Practice& practice, const Call& call) {
  const std::string_view text = LINTEL_TRY(json_text(call.request));
  const app::UploadRequest request = LINTEL_TRY(app::read_upload_request(text));
  app::HandOffUpload answer =
      LINTEL_TRY(app::begin_hand_off_upload(practice, parameter(call, "secret"), request));
  return upload_answer(answer.upload, std::move(answer.json), 201);
}

Result<Response> head_hand_off_upload(Practice& practice, const Call& call) {
  return offset_answer(LINTEL_TRY(app::find_hand_off_upload(practice, parameter(call, "secret"),
                                                            parameter(call, "id")))
                           .upload);
}

Result<Response> put_hand_off_upload(Practice& practice, const Call& call) {
  const app::ContentRange range = LINTEL_TRY(content_range(call));
  app::HandOffUpload answer = LINTEL_TRY(app::put_hand_off_chunk(
      practice, parameter(call, "secret"), parameter(call, "id"), range, call.request.body));
  return upload_answer(answer.upload, std::move(answer.json));
}

// ---- Live view

Result<Response> post_live(app::LiveView& live, const Call& call) {
  constexpr double kCentimetre = 0.01;
  app::LivePicture picture;
  picture.session = query_text(call.request, "session", "live");
  picture.stature =
      kCentimetre * LINTEL_TRY(query_number(call.request, "stature_cm", 170, 80, 250));
  picture.bytes = call.request.body;
  return Response::json(LINTEL_TRY(live.look(call.caller, picture)));
}

using PracticeHandler = Result<Response> (*)(Practice&, const Call&);

}  // namespace

void add_clip_routes(std::vector<Route>& routes, Practice& practice) {
  const std::string root = "/api/v1/";
  const auto add = [&](Method method, const std::string& pattern, const char* operation,
                       Permission permission, PracticeHandler handler) -> Route& {
    Route route;
    route.method = method;
    route.pattern = root + pattern;
    route.operation = operation;
    route.permission = permission;
    route.handler = [&practice, handler](const Call& call) { return handler(practice, call); };
    routes.push_back(std::move(route));
    return routes.back();
  };
  using enum Method;
  const Permission enter = Permission::EnterTests;
  const Permission read = Permission::ReadVisits;

  add(Post, "uploads", "createUpload", enter, post_upload);
  add(Head, "uploads/{id}", "getUploadOffset", enter, head_upload);
  add(Put, "uploads/{id}", "putUpload", enter, put_upload).body_limit = kChunkBody;
  add(Delete, "uploads/{id}", "deleteUpload", enter, delete_upload);

  add(Post, "visits/{visit}/trials", "createTrial", enter, post_trial).body_limit = kTrialBody;
  add(Get, "visits/{visit}/trials", "listTrials", read, get_trials);
  add(Get, "trials/{trial}", "getTrial", read, get_trial);
  add(Put, "trials/{trial}", "changeTrial", enter, put_trial).body_limit = kTrialBody;
  add(Get, "trials/{trial}/assessment", "getAssessment", read, get_assessment);
  add(Get, "trials/{trial}/curves", "getCurves", read,
      [](Practice& p, const Call& call) { return file_answer(p, call, "curves.json"); });
  add(Get, "trials/{trial}/points", "getPoints", read,
      [](Practice& p, const Call& call) { return file_answer(p, call, "points.json"); });
  add(Get, "trials/{trial}/files/{name}", "getTrialFile", read, get_file);
  add(Get, "trials/{trial}/clip", "getClip", read, get_clip);
  add(Post, "trials/{trial}/comparison", "compareTrials", read, post_comparison).changes_nothing =
      true;

  add(Get, "jobs", "listJobs", read, get_jobs);
  add(Get, "jobs/{job}", "getJob", read, get_job);
  add(Delete, "jobs/{job}", "cancelJob", enter, delete_job);
  add(Post, "jobs/{job}/retry", "retryJob", enter, post_retry);
  add(Get, "jobs/{job}/events", "getJobEvents", read, get_job_events);

  add(Post, "visits/{visit}/hand-off", "createHandOff", enter, post_hand_off).answer_holds_secret =
      true;
  add(Get, "hand-off/{secret}", "getHandOff", Permission::None, get_hand_off).per_minute =
      kSecretsPerMinute;
  add(Post, "hand-off/{secret}/uploads", "createHandOffUpload", Permission::None,
      post_hand_off_upload)
      .per_minute = kSecretsPerMinute;
  add(Head, "hand-off/{secret}/uploads/{id}", "getHandOffUploadOffset", Permission::None,
      head_hand_off_upload);
  add(Put, "hand-off/{secret}/uploads/{id}", "putHandOffUpload", Permission::None,
      put_hand_off_upload)
      .body_limit = kChunkBody;

  const auto live = std::make_shared<app::LiveView>(app::LiveOptions{practice.models, 0, 8, 60});
  Route route;
  route.method = Post;
  route.pattern = root + "live";
  route.operation = "measureLiveFrame";
  route.permission = Permission::Compute;
  route.body_limit = kPictureBody;
  route.handler = [live](const Call& call) { return post_live(*live, call); };
  route.changes_nothing = true;
  routes.push_back(std::move(route));
}

}  // namespace lintel::server
