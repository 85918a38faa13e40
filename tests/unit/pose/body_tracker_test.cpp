// The tracker's decisions in a scripted world: people are circles that move as told.
#include "pose/body_tracker.h"

#include <gtest/gtest.h>

#include <cmath>

namespace lintel::pose {
namespace {

using Eigen::Vector2f;
using kinematics::Landmark;

struct Actor {
  Vector2f hips;
  float height = 200;  // hip to size point [px]; the region is 2.5 times as wide
  bool hands_up = false;
  bool visible = true;
};

// Sees whoever stands nearest to the centre of the region that it is asked about.
class World {
 public:
  std::vector<Actor> actors;
  int detector_calls = 0;
  int landmark_calls = 0;

  PoseSource source() {
    return {[this](const Image&) { return detect(); },
            [this](const Image&, const Region& region) { return landmarks(region); }};
  }

 private:
  Result<std::vector<Person>> detect() {
    ++detector_calls;
    std::vector<Person> persons;
    for (const Actor& actor : actors) {
      if (!actor.visible) continue;
      Person person;
      person.score = 0.9F;
      person.key_points[0] = actor.hips;
      person.key_points[1] = actor.hips - Vector2f(0, actor.height);
      persons.push_back(person);
    }
    return persons;
  }
  Result<LandmarkResult> landmarks(const Region& region) {
    ++landmark_calls;
    LandmarkResult result;
    result.region = region;
    float nearest = 0.5F * region.side_px;
    for (const Actor& actor : actors) {
      const float distance = (actor.hips - region.center_px).norm();
      if (!actor.visible || distance >= nearest) continue;
      nearest = distance;
      result.body.presence = 0.99F;
      result.next_center_px = actor.hips;
      result.next_size_point_px = actor.hips - Vector2f(0, actor.height);
      for (auto& landmark : result.body.landmarks) {
        landmark.position_px = actor.hips;
        landmark.confidence = 0.8F;
      }
      const Vector2f shoulders = actor.hips - Vector2f(0, 0.5F * actor.height);
      const Vector2f hands = shoulders + Vector2f(0, actor.hands_up ? -90.0F : 90.0F);
      for (const Landmark l : {Landmark::LeftShoulder, Landmark::RightShoulder}) {
        result.body[l].position_px = shoulders;
      }
      for (const Landmark l : {Landmark::LeftWrist, Landmark::RightWrist}) {
        result.body[l].position_px = hands;
      }
    }
    return result;
  }
};

float seen_x(const Result<std::optional<kinematics::BodyObservation>>& body) {
  EXPECT_TRUE(body && *body);
  return body && *body ? (**body)[Landmark::LeftHip].position_px.x() : -1;
}

class Tracking : public ::testing::Test {
 protected:
  World world;
  Image frame{1000, 800};
};

TEST_F(Tracking, RunsTheDetectorOnceWhileAllGoesWell) {
  world.actors = {{{500, 400}}};
  BodyTracker tracker(world.source(), {});
  for (int i = 0; i < 25; ++i) {
    world.actors[0].hips.y() += 10;
    EXPECT_EQ(seen_x(tracker.track(frame)), 500);
  }
  EXPECT_EQ(world.detector_calls, 1);
  EXPECT_EQ(tracker.frames_lost(), 0);
  EXPECT_EQ(tracker.most_people_seen(), 1);
}

TEST_F(Tracking, TakesWhoHoldsTheHandsUpNotTheNeighbour) {
  world.actors = {{{300, 400}, 220, false}, {{700, 400}, 200, true}};
  BodyTracker tracker(world.source(), {});
  EXPECT_EQ(seen_x(tracker.track(frame)), 700);
  EXPECT_EQ(tracker.most_people_seen(), 2);
}

TEST_F(Tracking, TakesWhoIsAtTheBarWhenTheBarIsKnown) {
  world.actors = {{{300, 400}, 200, false}, {{700, 400}, 200, true}};
  BodyTracker tracker(world.source(), {});
  // Hands of the left one hang at y 390, where the bar is.
  EXPECT_EQ(seen_x(tracker.track(frame, Vector2f(320, 390))), 300);
}

TEST_F(Tracking, ObeysThePersonNamedByTheUser) {
  world.actors = {{{700, 400}, 200, true}, {{300, 400}}, {{100, 400}}};
  TrackerOptions options;
  options.person = 2;  // from the left: 100, 300, 700
  BodyTracker tracker(world.source(), options);
  EXPECT_EQ(seen_x(tracker.track(frame)), 300);
  options.person = 4;
  BodyTracker none(world.source(), options);
  const auto nobody = none.track(frame);
  ASSERT_TRUE(nobody);
  EXPECT_FALSE(nobody->has_value());
}

TEST_F(Tracking, LostMeansNothingAndThenFindsAgain) {
  world.actors = {{{500, 400}}};
  BodyTracker tracker(world.source(), {});
  EXPECT_EQ(seen_x(tracker.track(frame)), 500);
  world.actors[0].visible = false;
  for (int i = 0; i < 5; ++i) {
    const auto body = tracker.track(frame);
    ASSERT_TRUE(body);
    EXPECT_FALSE(body->has_value());
  }
  EXPECT_EQ(tracker.frames_lost(), 5);
  world.actors[0].visible = true;
  world.actors[0].hips.x() = 560;
  EXPECT_EQ(seen_x(tracker.track(frame)), 560);
}

TEST_F(Tracking, DoesNotSlideToTheOtherPerson) {
  world.actors = {{{400, 400}, 200, true}, {{600, 400}, 200, true}};
  TrackerOptions options;
  options.person = 1;
  BodyTracker tracker(world.source(), options);
  EXPECT_EQ(seen_x(tracker.track(frame)), 400);
  // The athlete vanishes behind something: the network would now answer with the other one,
  // 200 px away in a region of 500 px.
  world.actors[0].visible = false;
  for (int i = 0; i < 40; ++i) {
    const auto body = tracker.track(frame);
    ASSERT_TRUE(body);
    EXPECT_FALSE(body->has_value()) << "frame " << i;
  }
  world.actors[0].visible = true;
  EXPECT_EQ(seen_x(tracker.track(frame)), 400);
}

TEST_F(Tracking, NeverTurnsToSomebodyOfAnotherSize) {
  world.actors = {{{400, 400}, 200, true}, {{420, 380}, 80, true, false}};
  BodyTracker tracker(world.source(), {});
  EXPECT_EQ(seen_x(tracker.track(frame)), 400);
  world.actors[0].visible = false;  // a child or a poster behind
  world.actors[1].visible = true;
  const auto body = tracker.track(frame);
  ASSERT_TRUE(body);
  EXPECT_FALSE(body->has_value());
}

TEST_F(Tracking, FindsTheAthleteAfterALongGapWhereverThatIs) {
  world.actors = {{{200, 400}, 200, true}};
  BodyTracker tracker(world.source(), {});
  EXPECT_EQ(seen_x(tracker.track(frame)), 200);
  world.actors[0].visible = false;
  for (int i = 0; i < 20; ++i) ASSERT_TRUE(tracker.track(frame));
  world.actors[0].visible = true;
  world.actors[0].hips.x() = 900;
  EXPECT_EQ(seen_x(tracker.track(frame)), 900);
}

TEST_F(Tracking, WalkingPastSomebodyDoesNotConfuse) {
  world.actors = {{{200, 400}, 200, true}, {{520, 400}, 200, false}};
  TrackerOptions options;
  options.person = 1;
  BodyTracker tracker(world.source(), options);
  // In front of each other the scripted network answers with whoever is nearest to the region's
  // centre, as the real one does: the athlete, as long as each step is small.
  for (int i = 0; i < 40; ++i) {
    const float x = 200 + 20 * static_cast<float>(i);
    world.actors[0].hips.x() = x;
    EXPECT_NEAR(seen_x(tracker.track(frame)), x, 41) << i;
  }
  EXPECT_EQ(seen_x(tracker.track(frame)), 980);
}

TEST_F(Tracking, CountsPeopleAgainNowAndThen) {
  world.actors = {{{500, 400}, 200, true}, {{900, 400}, 200, false, false}};
  TrackerOptions options;
  options.recount_interval_frames = 10;
  BodyTracker tracker(world.source(), options);
  for (int i = 0; i < 5; ++i) ASSERT_TRUE(tracker.track(frame));
  EXPECT_EQ(tracker.most_people_seen(), 1);
  world.actors[1].visible = true;
  for (int i = 0; i < 20; ++i) EXPECT_EQ(seen_x(tracker.track(frame)), 500);
  EXPECT_EQ(tracker.most_people_seen(), 2);
  EXPECT_LE(world.detector_calls, 4);
}

// One athlete whose place differs from picture to picture; counts how often each is looked at.
class Film {
 public:
  explicit Film(const std::vector<Vector2f>& hips) : looks(hips.size()) {
    for (const Vector2f& at : hips) {
      World& world = worlds_.emplace_back();
      world.actors = {{at}};
      pictures_.emplace_back(1000, 800);
    }
  }
  PoseSource source() {
    PoseSource source;
    source.detect = [this](const Image& picture) { return at(picture).source().detect(picture); };
    source.landmarks = [this](const Image& picture, const Region& region) {
      ++looks[index_of(picture)];
      return at(picture).source().landmarks(picture, region);
    };
    source.landmarks_of_all =
        [this, one = source.landmarks](
            std::span<const PictureRegion> jobs) -> Result<std::vector<LandmarkResult>> {
      std::vector<LandmarkResult> results;
      for (const PictureRegion& job : jobs) {
        regions.push_back(job.region);
        results.push_back(LINTEL_TRY(one(*job.picture, job.region)));
      }
      return results;
    };
    return source;
  }
  std::vector<const Image*> pictures(std::size_t first, std::size_t count) const {
    std::vector<const Image*> out;
    for (std::size_t i = first; i < first + count; ++i) out.push_back(&pictures_[i]);
    return out;
  }
  std::vector<int> looks;
  std::vector<Region> regions;  // that were guessed

 private:
  std::size_t index_of(const Image& picture) const {
    return static_cast<std::size_t>(&picture - pictures_.data());
  }
  World& at(const Image& picture) { return worlds_[index_of(picture)]; }
  std::vector<World> worlds_;
  std::vector<Image> pictures_;
};

TEST(TrackingTogether, GuessesWhereASteadyMoverWillBe) {
  std::vector<Vector2f> path;
  for (int i = 0; i < 12; ++i) path.emplace_back(500, 300 + 10 * i);
  Film film(path);
  BodyTracker tracker(film.source(), {});
  for (std::size_t first = 0; first < path.size(); first += 4) {
    const auto bodies = tracker.track_all(film.pictures(first, 4));
    ASSERT_TRUE(bodies);
    ASSERT_EQ(bodies->size(), 4U);
    for (std::size_t i = 0; i < 4; ++i) {
      ASSERT_TRUE((*bodies)[i]);
      EXPECT_EQ((*(*bodies)[i])[Landmark::LeftHip].position_px, path[first + i]);
    }
  }
  // The first four one by one, as nobody was known; the others once each.
  for (std::size_t i = 4; i < path.size(); ++i) EXPECT_EQ(film.looks[i], 1) << i;
  ASSERT_EQ(film.regions.size(), 8U);
  // The region of a picture is where the athlete was in the one before.
  for (std::size_t i = 0; i < 8; ++i) {
    EXPECT_NEAR(film.regions[i].center_px.y(), path[i + 3].y(), 4) << i;
  }
}

TEST(TrackingTogether, LooksAgainWhereTheGuessWasOff) {
  std::vector<Vector2f> path(9, Vector2f(500, 400));
  for (std::size_t i = 6; i < 9; ++i) path[i] = {560, 400};  // 60 of 500 px: no jump, off a guess
  Film film(path);
  BodyTracker tracker(film.source(), {});
  ASSERT_TRUE(tracker.track_all(film.pictures(0, 4)));
  const auto bodies = tracker.track_all(film.pictures(4, 4));
  ASSERT_TRUE(bodies);
  for (std::size_t i = 0; i < 4; ++i) {
    EXPECT_EQ((*(*bodies)[i])[Landmark::LeftHip].position_px, path[4 + i]);
  }
  EXPECT_EQ(film.looks[5], 1);
  EXPECT_EQ(film.looks[6], 1);  // moved inside of a region that still fits
  EXPECT_EQ(film.looks[7], 2);  // the one before says: elsewhere
}

TEST(TrackingTogether, WithoutTheMeansGoesOneByOneToTheSameEnd) {
  std::vector<Vector2f> path;
  for (int i = 0; i < 8; ++i) path.emplace_back(400 + 12 * i, 400);
  Film film(path);
  PoseSource source = film.source();
  source.landmarks_of_all = {};
  BodyTracker tracker(source, {});
  for (const std::size_t first : {std::size_t{0}, std::size_t{4}}) {
    const auto bodies = tracker.track_all(film.pictures(first, 4));
    ASSERT_TRUE(bodies);
    for (std::size_t i = 0; i < 4; ++i) {
      EXPECT_EQ((*(*bodies)[i])[Landmark::LeftHip].position_px, path[first + i]);
    }
  }
  EXPECT_TRUE(film.regions.empty());
}

TEST_F(Tracking, PassesErrorsOn) {
  PoseSource source = world.source();
  source.detect = [](const Image&) -> Result<std::vector<Person>> {
    return fail(ErrorCode::Internal, "broken");
  };
  BodyTracker tracker(source, {});
  EXPECT_EQ(tracker.track(frame).error().message, "broken");
}

TEST(Jump, IsMeasuredInSidesOfTheRegion) {
  const TrackerOptions options;
  const Region from = region_from({500, 500}, {500, 300});  // side 500
  EXPECT_FALSE(is_jump(from, region_from({600, 500}, {600, 300}), options, 1));
  EXPECT_TRUE(is_jump(from, region_from({640, 500}, {640, 300}), options, 1));
  EXPECT_FALSE(is_jump(from, region_from({640, 500}, {640, 300}), options, 2));
  EXPECT_TRUE(is_jump(from, region_from({500, 500}, {500, 200}), options, 1));
  EXPECT_TRUE(is_jump(from, region_from({500, 500}, {500, 360}), options, 1));
  EXPECT_TRUE(is_jump(from, Region{}, options, 1));
}

TEST(LifterScore, PrefersTheMiddleAndTheLarger) {
  LandmarkResult pose;
  for (auto& landmark : pose.body.landmarks) landmark.confidence = 0.8F;
  pose.region = region_from({500, 500}, {500, 300});
  const LifterScore middle = score_lifter(pose, 500, 1000, {});
  EXPECT_FLOAT_EQ(middle.centrality, 1);
  EXPECT_FLOAT_EQ(middle.size, 1);
  pose.region = region_from({250, 500}, {250, 400});
  const LifterScore aside = score_lifter(pose, 500, 1000, {});
  EXPECT_FLOAT_EQ(aside.centrality, 0.5);
  EXPECT_FLOAT_EQ(aside.size, 0.5);
  EXPECT_GT(middle.total(), aside.total());
}

TEST(LifterScore, CountsSomebodyCutOffByTheEdgeForLess) {
  LandmarkResult pose;
  pose.region = region_from({500, 500}, {500, 300});
  for (auto& landmark : pose.body.landmarks) landmark.confidence = 0.8F;
  const float whole = score_lifter(pose, 500, 1000, {}).total();
  for (const Landmark l :
       {Landmark::LeftKnee, Landmark::RightKnee, Landmark::LeftAnkle, Landmark::RightAnkle}) {
    pose.body[l].confidence = 0;
  }
  EXPECT_NEAR(score_lifter(pose, 500, 1000, {}).total(), whole / 2, 1e-4);
}

}  // namespace
}  // namespace lintel::pose
