#include "kinematics/corrections.h"

#include <algorithm>
#include <cmath>
#include <string>

namespace lintel::kinematics {
namespace {

tl::unexpected<Error> fault(const char* list, std::size_t index, const char* member,
                            std::string message, std::string mend = {}) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field =
      std::string("corrections.") + list + "[" + std::to_string(index) + "]." + member;
  return fail(std::move(error));
}

std::size_t& moment_of(RepetitionEvents& events, RepetitionMoment moment) {
  switch (moment) {
    case RepetitionMoment::Start:
      return events.start_frame;
    case RepetitionMoment::Bottom:
      return events.bottom_frame;
    case RepetitionMoment::End:
      break;
  }
  return events.end_frame;
}

// Durations follow the events; the band around the lowest height stays where it was.
void move_moment(RepetitionEvents& events, RepetitionMoment moment, std::size_t to,
                 std::span<const double> time) {
  std::size_t& frame = moment_of(events, moment);
  const double later = time[to] - time[frame];
  frame = to;
  switch (moment) {
    case RepetitionMoment::Start:
      events.descent_duration = std::max(0.0, events.descent_duration - later);
      break;
    case RepetitionMoment::Bottom:
      events.bottom_time = time[to];
      break;
    case RepetitionMoment::End:
      events.ascent_duration = std::max(0.0, events.ascent_duration + later);
      break;
  }
}

}  // namespace

Result<ClipObservation> with_moved_points(const ClipObservation& clip,
                                          std::span<const MovedPoint> points) {
  ClipObservation moved = clip;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const MovedPoint& point = points[i];
    const auto frame =
        std::ranges::lower_bound(moved.frames, point.frame, {}, &FrameObservation::index);
    if (frame == moved.frames.end() || frame->index != point.frame) {
      return fault("points", i, "frame",
                   "frame " + std::to_string(point.frame) + " is not among those measured",
                   "frames count from 0 in the order of the clip");
    }
    if (!frame->body) {
      return fault("points", i, "frame", "no body was seen in frame " + std::to_string(point.frame),
                   "correct a frame in which the body was found");
    }
    const float x = point.position_px.x();
    const float y = point.position_px.y();
    const bool inside = x >= 0 && y >= 0 && x <= static_cast<float>(clip.width_px) &&
                        y <= static_cast<float>(clip.height_px);
    if (!inside) {  // also for NaN
      return fault("points", i, "x_px", "the point lies outside of the picture",
                   "it is " + std::to_string(clip.width_px) + " by " +
                       std::to_string(clip.height_px) + " pixels large");
    }
    LandmarkObservation& landmark = (*frame->body)[point.landmark];
    landmark.position_px = landmark.regressed_px = point.position_px;
    landmark.confidence = landmark.visibility = 1;
    landmark.refined = landmark.by_hand = true;
  }
  return moved;
}

Result<std::vector<RepetitionEvents>> with_shifted_events(std::vector<RepetitionEvents> found,
                                                          std::span<const ShiftedEvent> events,
                                                          std::span<const double> time,
                                                          std::span<const std::int64_t> frames) {
  for (std::size_t i = 0; i < events.size(); ++i) {
    const ShiftedEvent& event = events[i];
    if (event.repetition < 1 || event.repetition > static_cast<int>(found.size())) {
      return fault("events", i, "repetition",
                   "repetition " + std::to_string(event.repetition) + " is not there",
                   "the clip has " + std::to_string(found.size()));
    }
    const auto frame = std::ranges::lower_bound(frames, event.frame);
    if (frame == frames.end() || *frame != event.frame) {
      return fault("events", i, "frame",
                   "frame " + std::to_string(event.frame) + " is not among those measured");
    }
    move_moment(found[static_cast<std::size_t>(event.repetition - 1)], event.moment,
                static_cast<std::size_t>(frame - frames.begin()), time);
  }
  for (std::size_t i = 0; i < events.size(); ++i) {
    const RepetitionEvents& r = found[static_cast<std::size_t>(events[i].repetition - 1)];
    if (r.start_frame < r.bottom_frame && r.bottom_frame < r.end_frame) continue;
    return fault("events", i, "frame", "start, bottom and end would not follow one another",
                 "the start lies before the bottom, the bottom before the end");
  }
  return found;
}

}  // namespace lintel::kinematics
