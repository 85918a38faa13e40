#include "app/motion_capture.h"

#include "app/text_blocks.h"
#include "base/text.h"
#include "formats/c3d.h"
#include "formats/keypoints.h"
#include "formats/located_json.h"
#include "formats/marker_sets.h"
#include "kinematics/marker_view.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestSets = 256u << 10;  // [bytes], as the reader's own limit

tl::unexpected<Error> wrong(ErrorCode code, std::string field, std::string message,
                            std::string mend) {
  Error error{code, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  return fail(std::move(error));
}

Result<std::vector<formats::MarkerSet>> load_sets(const KeypointsRequest& request) {
  if (!request.marker_sets) return formats::built_in_marker_sets();
  const std::string text = LINTEL_TRY(read_text_file(
      *request.marker_sets, kLargestSets, "give a file of marker sets (lintel-marker-sets-1)"));
  auto reading = formats::read_marker_sets_json(text, request.marker_sets->filename().string());
  if (!reading.faults.empty()) return fail(joined_faults(reading.faults));
  return std::move(reading.sets);
}

Result<const formats::MarkerSet*> choose_set(const KeypointsRequest& request,
                                             const std::vector<formats::MarkerSet>& sets,
                                             const formats::C3dMotion& motion) {
  if (request.markers.empty()) return &formats::best_marker_set(motion, sets);
  std::vector<std::string> ids;
  std::string all;
  for (const formats::MarkerSet& set : sets) {
    if (set.id == request.markers) return &set;
    ids.push_back(set.id);
    all += (all.empty() ? "" : ", ") + set.id;
  }
  const std::string_view nearest = formats::nearest_word(request.markers, ids);
  return wrong(
      ErrorCode::NotFound, "markers", "there is no set \"" + request.markers + "\"",
      nearest.empty() ? "known are: " + all : "did you mean \"" + std::string(nearest) + "\"?");
}

Result<void> write_output(const KeypointsRequest& request, const kinematics::ClipObservation& clip,
                          const std::string& json) {
  if (!request.output) return {};
  const std::string kind = request.output->extension().string();
  if (kind != ".csv" && kind != ".json") {
    return wrong(ErrorCode::Invalid, "output", "is neither a .csv nor a .json file",
                 "name it keypoints.csv, for one");
  }
  return write_text_file(*request.output,
                         kind == ".csv" ? formats::write_keypoints_csv(clip) : json,
                         request.existing);
}

}  // namespace

Result<KeypointsOutcome> keypoints_of_motion(const KeypointsRequest& request) {
  const std::vector<formats::MarkerSet> sets = LINTEL_TRY(load_sets(request));
  const std::string name = request.motion.filename().string();
  const std::string bytes =
      LINTEL_TRY(read_text_file(request.motion, formats::C3dLimits{}.bytes, "give a C3D file"));
  const auto* first = reinterpret_cast<const std::uint8_t*>(bytes.data());
  const formats::C3dMotion motion = LINTEL_TRY(formats::read_c3d({first, bytes.size()}, name));
  const auto named = [&name](Error error) { return std::move(error.with_file(name)); };
  const formats::MarkerSet* set = LINTEL_TRY(choose_set(request, sets, motion));
  const kinematics::MarkerClip landmarks =
      LINTEL_TRY(formats::landmarks_of(motion, *set).map_error(named));
  const kinematics::ClipObservation clip =
      LINTEL_TRY(kinematics::side_view(landmarks).map_error(named));
  KeypointsOutcome outcome;
  outcome.json = formats::write_keypoints_json(clip);
  LINTEL_TRY_VOID(write_output(request, clip, outcome.json));
  outcome.text = wrapped(
      name +
          text(": %zu markers, %zu frames at %g a second; %d landmarks by the set ",
               motion.labels.size(), motion.frame_count, motion.frame_rate,
               formats::match_markers(motion, *set).landmarks) +
          set->id + text(". Side view, 1 px is 1 mm, %d x %d px.", clip.width_px, clip.height_px),
      "", "  ");
  if (request.output) outcome.text += "File: " + request.output->string() + "\n";
  return outcome;
}

}  // namespace lintel::app
