#include "body/anthropometry.h"

#include <cmath>
#include <cstdio>
#include <string>

#include "body/tables.h"

namespace lintel::body {
namespace {

Result<void> check_range(std::string_view key, std::string field, double value) {
  const Number& range = range_table()[key];
  if (std::isfinite(value) && value >= range.low && value <= range.high) return {};
  char buffer[120];
  std::snprintf(buffer, sizeof buffer, "%.6g m is outside of the allowed range %.6g to %.6g m",
                value, range.low, range.high);
  Error error{ErrorCode::Invalid, buffer, {}, "measure again or correct the entry", {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

}  // namespace

Result<SegmentLengths> estimate_segments(Sex sex, double stature, const MeasuredLengths& measured) {
  LINTEL_TRY_VOID(check_range("stature", "athlete.stature", stature));
  const NumberTable& table = segment_length_table();
  const std::string sex_part = sex == Sex::Male ? ".male" : ".female";
  SegmentLengths lengths;
  for (int i = 0; i < kSegmentCount; ++i) {
    const auto segment = static_cast<Segment>(i);
    const std::string name(segment_name(segment));
    const auto& given = measured[static_cast<std::size_t>(i)];
    if (given) {
      LINTEL_TRY_VOID(check_range("segment." + name, "measured_lengths." + name, given->value));
      const double standard_error = given->standard_error > 0.0
                                        ? given->standard_error
                                        : limit_table().value("segment.measured_error");
      lengths[segment] = Estimate{given->value, standard_error};
      lengths.source[static_cast<std::size_t>(i)] = LengthSource::Measured;
      continue;
    }
    lengths.source[static_cast<std::size_t>(i)] = LengthSource::Estimated;
    if (segment == Segment::HeelToAnkle) {
      // The foot comes earlier in the enumeration.
      const Number& share = table["heel_to_ankle.of_foot"];
      const Estimate foot = lengths[Segment::Foot];
      lengths[segment] = Estimate{
          share.value * foot.value,
          std::hypot(share.standard_deviation * foot.value, share.value * foot.standard_error)};
      continue;
    }
    const Number& intercept = table[name + sex_part + ".intercept"];
    lengths[segment] = Estimate{table.value(name + sex_part + ".slope") * stature + intercept.value,
                                intercept.standard_deviation};
  }
  return lengths;
}

}  // namespace lintel::body
