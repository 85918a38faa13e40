#include "pose/person_detector.h"

#include <array>
#include <opencv2/imgproc.hpp>
#include <utility>

#include "pose/picture_input.h"

namespace lintel::pose {
namespace {
constexpr std::array<std::size_t, 2> kOutputs = {
    static_cast<std::size_t>(kAnchorCount) * kDetectorValues, kAnchorCount};
}  // namespace

PersonDetector::PersonDetector(Network network)
    : network_(std::move(network)), anchors_(make_anchors()), input_(make_planes(kDetectorSide)) {}

Result<PersonDetector> PersonDetector::create(const std::filesystem::path& models) {
  return PersonDetector(LINTEL_TRY(Network::load(models, NetworkFile::Detector, kOutputs)));
}

Result<std::vector<Person>> PersonDetector::detect(const Image& picture, float lowest_score) {
  if (picture.empty()) return fail(ErrorCode::Invalid, "the picture is empty");
  const Letterbox letterbox = fit_letterbox(picture.width(), picture.height());
  try {
    cv::Mat square(kDetectorSide, kDetectorSide, CV_8UC3, cv::Scalar(0, 0, 0));
    cv::Mat inner =
        square(cv::Rect(letterbox.offset_x, letterbox.offset_y, letterbox.width, letterbox.height));
    cv::resize(view_of(picture), inner, inner.size(), 0, 0, cv::INTER_AREA);
    fill_planes(square, 1 / 127.5F, -1.0F, input_);
  } catch (const cv::Exception& exception) {
    return fail(ErrorCode::Internal, "the picture cannot be shrunk: " + exception.err);
  }
  const auto outputs = LINTEL_TRY(network_.run(input_));
  std::vector<Person> persons =
      merge_overlapping(decode_detections(outputs[0], outputs[1], anchors_, lowest_score));
  for (Person& person : persons) person = undo_letterbox(person, letterbox);
  return persons;
}

}  // namespace lintel::pose
