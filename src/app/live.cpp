#include "app/live.h"

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <map>
#include <mutex>
#include <optional>
#include <span>
#include <thread>
#include <utility>

#include "app/body_scale.h"
#include "bar/disc_tracker.h"
#include "formats/clip_answers_json.h"
#include "kinematics/landmarks.h"
#include "media/clip_reader.h"
#include "pose/body_tracker.h"
#include "pose/pose_estimator.h"

namespace lintel::app {
namespace {

using Clock = std::chrono::steady_clock;
using kinematics::BodySide;
using kinematics::PairedLandmark;

constexpr int kMostWaiting = 4;

Error field_error(const char* field, std::string message, std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = field;
  return error;
}

bool is_good_name(const std::string& name) {
  constexpr std::size_t kLongest = 64;
  return !name.empty() && name.size() <= kLongest && std::ranges::all_of(name, [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '-' ||
           c == '_';
  });
}

Result<Image> decode(std::string_view bytes) {
  if (!bytes.starts_with("\xff\xd8\xff")) {
    return fail(field_error("body", "this is no JPEG picture", "send each picture as image/jpeg"));
  }
  const std::span data(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  media::ClipReader reader = LINTEL_TRY(media::ClipReader::open_memory(data, "picture", {}));
  std::optional<media::DecodedFrame> frame = LINTEL_TRY(reader.next());
  if (!frame) return fail(field_error("body", "the picture is empty", "send it again"));
  return std::move(frame->image);
}

// Towards image right +1, left -1, by the feet.
double facing_of(const kinematics::BodyObservation& body) {
  double sum = 0;
  for (const BodySide side : {BodySide::Left, BodySide::Right}) {
    sum += kinematics::point_px(body, PairedLandmark::Toe, side).x() -
           kinematics::point_px(body, PairedLandmark::Heel, side).x();
  }
  return sum >= 0 ? 1.0 : -1.0;
}

double trunk_inclination(const kinematics::BodyObservation& body) {
  const Eigen::Vector2d up = kinematics::midpoint_px(body, PairedLandmark::Shoulder) -
                             kinematics::midpoint_px(body, PairedLandmark::Hip);
  return std::atan2(facing_of(body) * up.x(), -up.y());
}

struct Session {
  Session(pose::PoseEstimator& estimator, double stature, double disc_diameter)
      : tracker(pose::pose_source(estimator), {}), scale(stature) {
    bar::TrackerOptions options;
    options.disc_radius = 0.5 * disc_diameter;
    discs.emplace(options);
  }
  pose::BodyTracker tracker;
  std::optional<bar::DiscTracker> discs;
  BodyScale scale;
  Clock::time_point begun = Clock::now();
  Clock::time_point seen = begun;
};

}  // namespace

struct LiveView::Parts {
  explicit Parts(LiveOptions given) : options(std::move(given)) {}

  Result<void> load() {
    if (estimator) return {};
    std::optional<std::filesystem::path> folder;
    if (!options.models.empty()) folder = options.models;
    const std::filesystem::path models = LINTEL_TRY(pose::find_models(folder));
    const int cores = static_cast<int>(std::max(1U, std::thread::hardware_concurrency()));
    estimator = LINTEL_TRY(pose::PoseEstimator::create(
        models, pose::Variant::Lite, options.threads > 0 ? options.threads : cores));
    return {};
  }

  Session& session_of(const std::string& key, const LivePicture& picture) {
    const auto oldest = Clock::now() - std::chrono::duration<double>(options.forget_after_s);
    std::erase_if(sessions, [&](const auto& entry) { return entry.second.seen < oldest; });
    if (const auto found = sessions.find(key); found != sessions.end()) return found->second;
    if (sessions.size() >= options.sessions) {
      sessions.erase(std::ranges::min_element(sessions, {},
                                              [](const auto& entry) { return entry.second.seen; }));
    }
    return sessions.try_emplace(key, *estimator, picture.stature, picture.disc_diameter)
        .first->second;
  }

  LiveOptions options;
  std::atomic<int> waiting{0};
  mutable std::mutex mutex;
  std::optional<pose::PoseEstimator> estimator;
  std::map<std::string, Session> sessions;
};

LiveView::LiveView(LiveOptions options) : parts_(std::make_unique<Parts>(std::move(options))) {}
LiveView::~LiveView() = default;

std::size_t LiveView::session_count() const {
  const std::lock_guard lock(parts_->mutex);
  return parts_->sessions.size();
}

Result<std::string> LiveView::look(const Caller& caller, const LivePicture& picture) {
  LINTEL_TRY_VOID(require(caller, Permission::Compute));
  if (!is_good_name(picture.session)) {
    return fail(field_error("session", "must have 1 to 64 letters, digits, \"-\" or \"_\"",
                            "choose one name for as long as one camera runs"));
  }
  const auto begun = Clock::now();
  const Image image = LINTEL_TRY(decode(picture.bytes));
  struct Place {
    explicit Place(std::atomic<int>& count) : count_(count) { before = count_++; }
    ~Place() { --count_; }
    Place(const Place&) = delete;
    Place& operator=(const Place&) = delete;
    std::atomic<int>& count_;
    int before = 0;
  } const place(parts_->waiting);
  if (place.before > kMostWaiting) {
    return fail(ErrorCode::Io, "too many pictures wait for the live view",
                "send the next picture when the answer to the one before is there");
  }
  const std::lock_guard lock(parts_->mutex);
  LINTEL_TRY_VOID(parts_->load());
  Session& session = parts_->session_of(caller.person + "/" + picture.session, picture);
  session.seen = Clock::now();
  const auto body = LINTEL_TRY(session.tracker.track(image));
  std::optional<kinematics::DiscObservation> disc;
  formats::LiveFacts facts;
  if (body) {
    session.scale.update(*body);
    const double time = std::chrono::duration<double>(session.seen - session.begun).count();
    disc =
        session.discs->track(image, time, disc_hint(*body, session.scale, picture.disc_diameter));
    facts.body = &*body;
    facts.trunk_inclination = trunk_inclination(*body);
  }
  if (disc) facts.bar = &*disc;
  facts.width_px = image.width();
  facts.height_px = image.height();
  facts.milliseconds = std::chrono::duration<double, std::milli>(Clock::now() - begun).count();
  return formats::write_live_json(facts);
}

}  // namespace lintel::app
