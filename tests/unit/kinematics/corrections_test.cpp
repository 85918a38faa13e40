#include "kinematics/corrections.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace lintel::kinematics {
namespace {

ClipObservation a_clip() {
  ClipObservation clip;
  clip.width_px = 300;
  clip.height_px = 500;
  for (int i = 0; i < 6; ++i) {
    FrameObservation frame;
    frame.index = 2 * i;  // as after damaged frames
    frame.time = i / 30.0;
    if (i != 4) {
      frame.body.emplace();
      for (auto& landmark : frame.body->landmarks) {
        landmark.position_px = {100, 200};
        landmark.confidence = 0.3F;
      }
    }
    clip.frames.push_back(std::move(frame));
  }
  return clip;
}

TEST(MovedPoints, StandWhereThePersonPutThemAndNowhereElse) {
  const ClipObservation clip = a_clip();
  const std::vector<MovedPoint> points = {{6, Landmark::LeftKnee, {120.5F, 210}}};
  const auto moved = with_moved_points(clip, points);
  ASSERT_TRUE(moved) << moved.error();
  const LandmarkObservation& knee = (*moved->frames[3].body)[Landmark::LeftKnee];
  EXPECT_EQ(knee.position_px.x(), 120.5F);
  EXPECT_EQ(knee.confidence, 1.0F);
  EXPECT_TRUE(knee.by_hand);
  EXPECT_FALSE((*moved->frames[2].body)[Landmark::LeftKnee].by_hand);
  EXPECT_FALSE((*moved->frames[3].body)[Landmark::RightKnee].by_hand);
  EXPECT_EQ((*clip.frames[3].body)[Landmark::LeftKnee].position_px.x(), 100.0F);
}

TEST(MovedPoints, MustLieOnABodyInThePicture) {
  const auto field_of = [](MovedPoint point) {
    const std::vector<MovedPoint> points = {{0, Landmark::Nose, {1, 1}}, point};
    const auto moved = with_moved_points(a_clip(), points);
    return moved ? std::string("none") : moved.error().place.field;
  };
  EXPECT_EQ(field_of({3, Landmark::Nose, {1, 1}}), "corrections.points[1].frame");
  EXPECT_EQ(field_of({12, Landmark::Nose, {1, 1}}), "corrections.points[1].frame");
  EXPECT_EQ(field_of({8, Landmark::Nose, {1, 1}}), "corrections.points[1].frame");  // no body
  EXPECT_EQ(field_of({4, Landmark::Nose, {301, 1}}), "corrections.points[1].x_px");
  EXPECT_EQ(field_of({4, Landmark::Nose, {1, std::numeric_limits<float>::quiet_NaN()}}),
            "corrections.points[1].x_px");
  EXPECT_EQ(field_of({4, Landmark::Nose, {300, 500}}), "none");
}

struct Clip {
  std::vector<double> time;
  std::vector<std::int64_t> frames;
  std::vector<RepetitionEvents> found;
};

Clip ten_frames() {
  Clip clip;
  for (int i = 0; i < 10; ++i) {
    clip.time.push_back(0.1 * i);
    clip.frames.push_back(i + 100);
  }
  RepetitionEvents events;
  events.start_frame = 1;
  events.bottom_frame = 4;
  events.end_frame = 8;
  events.bottom_time = 0.41;
  events.descent_duration = 0.25;
  events.ascent_duration = 0.3;
  clip.found.push_back(events);
  return clip;
}

TEST(ShiftedEvents, MoveTheMomentAndTheDurations) {
  const Clip clip = ten_frames();
  const std::vector<ShiftedEvent> shifts = {{1, RepetitionMoment::Start, 100},
                                            {1, RepetitionMoment::Bottom, 105},
                                            {1, RepetitionMoment::End, 109}};
  const auto moved = with_shifted_events(clip.found, shifts, clip.time, clip.frames);
  ASSERT_TRUE(moved) << moved.error();
  const RepetitionEvents& r = moved->front();
  EXPECT_EQ(r.start_frame, 0u);
  EXPECT_EQ(r.bottom_frame, 5u);
  EXPECT_EQ(r.end_frame, 9u);
  EXPECT_NEAR(r.descent_duration, 0.35, 1e-12);
  EXPECT_NEAR(r.ascent_duration, 0.4, 1e-12);
  EXPECT_NEAR(r.bottom_time, 0.5, 1e-12);
}

TEST(ShiftedEvents, MustBeThereAndInOrder) {
  const auto field_of = [](ShiftedEvent shift) {
    const Clip clip = ten_frames();
    const std::vector<ShiftedEvent> shifts = {shift};
    const auto moved = with_shifted_events(clip.found, shifts, clip.time, clip.frames);
    return moved ? std::string("none") : moved.error().place.field;
  };
  EXPECT_EQ(field_of({2, RepetitionMoment::Start, 100}), "corrections.events[0].repetition");
  EXPECT_EQ(field_of({1, RepetitionMoment::Start, 99}), "corrections.events[0].frame");
  EXPECT_EQ(field_of({1, RepetitionMoment::Start, 104}), "corrections.events[0].frame");
  EXPECT_EQ(field_of({1, RepetitionMoment::End, 104}), "corrections.events[0].frame");
  EXPECT_EQ(field_of({1, RepetitionMoment::Bottom, 107}), "none");
}

}  // namespace
}  // namespace lintel::kinematics
