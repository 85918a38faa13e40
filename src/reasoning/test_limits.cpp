#include "reasoning/test_limits.h"

#include <algorithm>
#include <array>
#include <numbers>
#include <string>

#include "body/knee_to_wall.h"
#include "body/tables.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using posture::Limit;

constexpr std::array<TestOfLimit, 12> kTests = {{
    {MobilityTest::AnkleDorsiflexion, Limit::AnkleDorsiflexion},
    {MobilityTest::KneeToWall, Limit::AnkleDorsiflexion},
    {MobilityTest::HipFlexion, Limit::HipFlexion},
    {MobilityTest::HipAbduction, Limit::HipAbduction},
    {MobilityTest::HipExternalRotation, Limit::HipExternalRotation},
    {MobilityTest::LumbarFlexion, Limit::LumbarFlexion},
    {MobilityTest::ThoracicExtension, Limit::ThoracicExtension},
    {MobilityTest::ThoracicRotation, Limit::ThoracicExtension},
    {MobilityTest::ShoulderFlexion, Limit::ShoulderElevation},
    {MobilityTest::ArmToWallTurnedIn, Limit::ShoulderElevation},
    {MobilityTest::ArmToWallTurnedOut, Limit::LatissimusLength},
    {MobilityTest::KneeFlexion, Limit::KneeFlexion},
}};

bool is_of_wall(MobilityTest test) {
  return test == MobilityTest::ArmToWallTurnedIn || test == MobilityTest::ArmToWallTurnedOut;
}

}  // namespace

std::span<const TestOfLimit> tests_of_limits() {
  return kTests;
}

Result<Estimate> range_of_result(const body::Athlete& athlete, const TestOfLimit& test,
                                 const Estimate& result, const body::SegmentLengths& lengths) {
  body::Athlete only = athlete;
  only.tests = {};
  only.tests[test.test] = {result, std::nullopt};
  const posture::AthleteLimits limits = LINTEL_TRY(posture::limits_from_tests(only, lengths));
  return Estimate{limits.limits[test.limit].edge,
                  limits.standard_error[static_cast<std::size_t>(test.limit)]};
}

double result_of_range(const TestOfLimit& test, double range, const body::SegmentLengths& lengths) {
  double result = range;
  if (test.test == MobilityTest::KneeToWall) {
    result = body::knee_to_wall_from_dorsiflexion({range, 0.0}, lengths).value;
  } else if (test.test == MobilityTest::ThoracicRotation) {
    result = range / body::limit_table().value("thoracic_extension.per_rotation");
  } else if (is_of_wall(test.test)) {
    result = std::numbers::pi - range;
  }
  const body::Number& allowed = body::range_table()[body::mobility_range_key(test.test)];
  return std::clamp(result, allowed.low, allowed.high);
}

double default_error(MobilityTest test) {
  switch (test) {
    case MobilityTest::ShoulderFlexion:
    case MobilityTest::ArmToWallTurnedIn:
      return body::limit_table().value("shoulder_elevation.test_error");
    case MobilityTest::ArmToWallTurnedOut:
      return body::limit_table().value("latissimus_elevation.test_error");
    default:
      return body::limit_table().value(std::string(body::mobility_test_name(test)) + ".test_error");
  }
}

}  // namespace lintel::reasoning
