// Persons and their landmarks in single pictures. For clips see BodyTracker.
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <vector>

#include "base/image.h"
#include "base/result.h"
#include "pose/detection.h"
#include "pose/landmark_result.h"
#include "pose/model_files.h"

namespace lintel::pose {

// Which layers the landmark network is made of; the landmarks are the same but for rounding.
enum class Layers : std::uint8_t { Fastest, OpenCvAlone };

// Owns a detector and a landmark network, apart from each other: one thread may call detect()
// while another calls landmarks(); neither may run twice at once. Results do not depend on the
// number of threads.
class PoseEstimator {
 public:
  // models: see find_models(). threads >= 1: of OpenCV, which is one number for the whole process
  // (the last estimator made decides). Errors: those of read_network_file, Internal.
  static Result<PoseEstimator> create(const std::filesystem::path& models, Variant variant,
                                      int threads, Layers layers = Layers::Fastest);

  // A further estimator of the same kind for another thread.
  Result<PoseEstimator> duplicate() const;

  PoseEstimator(PoseEstimator&&) noexcept;
  PoseEstimator& operator=(PoseEstimator&&) noexcept;
  ~PoseEstimator();

  // Whole persons with score >= lowest_score, best first, in px of the picture. The detector is
  // loaded at the first call. Below the default most findings are none: confirm by landmarks().
  Result<std::vector<Person>> detect(const Image& picture, float lowest_score = 0.5F);

  // Landmarks of the person in the region, whether or not there is one: look at body.presence.
  Result<LandmarkResult> landmarks(const Image& picture, const Region& region);

  Variant variant() const;

 private:
  struct Parts;
  explicit PoseEstimator(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> parts_;
};

}  // namespace lintel::pose
