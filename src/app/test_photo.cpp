#include "app/test_photo.h"

#include <algorithm>
#include <cmath>

#include "app/photo_body.h"
#include "app/result_folder.h"
#include "app/test_library.h"
#include "app/test_photo_drawing.h"
#include "app/test_text.h"
#include "app/text_blocks.h"
#include "app/text_file.h"
#include "base/text.h"
#include "body/tables.h"
#include "formats/test_photo_json.h"
#include "media/still.h"
#include "secure/sha256.h"

namespace lintel::app {
namespace {

using body::TestProtocol;
using body::TestSide;
using kinematics::PhotoPoint;
using kinematics::PhotoPoints;

constexpr std::uintmax_t kLargestPicture = 64 << 20;
constexpr std::uintmax_t kLargestPoints = 64 << 10;

const char* variant_word(NetworkVariant variant) {
  return variant == NetworkVariant::Lite    ? "lite"
         : variant == NetworkVariant::Heavy ? "heavy"
                                            : "full";
}

Result<void> check_request(const TestPhotoRequest& request, const TestProtocol& protocol) {
  if (!protocol.photo) {
    return fail(ErrorCode::Unsupported, "\"" + protocol.name + "\" cannot be read off a photo",
                "measure it by hand and enter it with: lintel tests enter");
  }
  const bool sided = protocol.sides == body::Sides::Each;
  if (sided == (request.side == TestSide::Both)) {
    Error error{ErrorCode::Invalid,
                sided ? "the side is missing" : "this test has no sides",
                {},
                sided ? "give --side left or --side right" : "leave --side out",
                {}};
    error.place.field = "side";
    return fail(std::move(error));
  }
  return {};
}

Result<std::optional<PhotoBody>> find_body(const TestPhotoRequest& request,
                                           const WorkContext& work) {
  ObserveRequest observe;
  observe.clip = request.picture;
  observe.variant = request.variant;
  observe.models = request.models;
  observe.person = request.person;
  observe.stature = request.stature;
  observe.threads = request.threads;
  return find_photo_body(std::move(observe), work);
}

// Moves what the file names; returns the network's places of those.
Result<PhotoPoints> move_by_hand(const TestPhotoRequest& request, const TestProtocol& protocol,
                                 const Image& picture, double px_per_metre, PhotoPoints& points) {
  PhotoPoints originals;
  if (!request.points) return originals;
  const std::string name = request.points->filename().string();
  const std::string bytes = LINTEL_TRY(
      read_text_file(*request.points, kLargestPoints, "give a file of points: {\"knee\": [x, y]}"));
  const auto reading = formats::read_photo_points_json(
      bytes, name, kinematics::points_of(*protocol.photo), picture.width(), picture.height());
  if (!reading.points) return fail(joined_faults(reading.faults));
  const double error = body::test_table().value("photo.hand_placed_error") * px_per_metre;
  for (const auto& [point, position] : *reading.points) {
    if (const auto found = points.find(point); found != points.end()) originals.insert(*found);
    points[point] = {position, std::max(0.5, error), true};
  }
  return originals;
}

double rough_scale(const std::optional<PhotoBody>& found, const TestPhotoRequest& request,
                   const Image& picture) {
  if (found) return kinematics::pixels_per_metre(found->body, request.stature);
  if (request.known_length && request.known_length->length > 0) {
    const auto& known = *request.known_length;
    return (known.to_px - known.from_px).norm() / known.length;
  }
  return 0.7 * picture.height() / request.stature;  // a body fills most of the picture
}

body::TestEntry entry_of(const TestPhotoRequest& request, const formats::PhotoDocument& d,
                         const std::string& sha256, bool network_used) {
  body::TestEntry entry;
  entry.protocol = d.protocol->id;
  entry.side = d.side;
  entry.tries = {d.reading.result.value};
  entry.tries_error = d.reading.result.standard_error;
  entry.device = "photo";
  body::PhotoProvenance from;
  from.file = request.picture.filename().string();
  from.sha256 = sha256;
  if (network_used) from.network = variant_word(request.variant);
  for (const auto& [name, point] : d.points) {
    if (point.by_hand) from.moved.push_back(name);
  }
  entry.photo = from;
  return entry;
}

std::string text_of(const formats::PhotoDocument& d) {
  const body::ProtocolUnit unit = d.protocol->unit;
  std::string out = d.protocol->name;
  if (d.side != TestSide::Both) out += ", " + std::string(body::test_side_name(d.side));
  out += ": " + estimate_text(d.reading.result, unit) + "\n\nThe error comes from: points " +
         value_text(d.reading.from_points, unit);
  if (d.reading.from_vertical > 0) {
    out += ", how upright the picture is " + value_text(d.reading.from_vertical, unit);
  }
  if (d.reading.from_length > 0) {
    out += ", the known length " + value_text(d.reading.from_length, unit);
  }
  out += ", the method " + value_text(d.reading.from_method, unit) + "\n";
  out += wrapped(d.protocol->photo->source + ".", "  ", "  ") + "\n";
  for (const auto& [name, point] : d.points) {
    out += text("  %-22s %7.1f %7.1f px  +/- %4.1f  ", name.c_str(), point.position_px.x(),
                point.position_px.y(), point.error_px);
    out += point.by_hand ? "by hand" : "network";
    if (const auto was = d.originals.find(name); was != d.originals.end()) {
      out +=
          text(" (network: %.1f %.1f)", was->second.position_px.x(), was->second.position_px.y());
    }
    out += "\n";
  }
  out += "\n" + wrapped(d.protocol->photo->camera, "Camera: ", "  ");
  if (kinematics::uses_far_side(d.points)) {
    out += wrapped("The " + std::string(body::test_side_name(d.side)) +
                       " side is turned away from the camera: the network places its points too "
                       "near to the other side, so the error is large. Take the picture from the " +
                       std::string(body::test_side_name(d.side)) + ", or place the points by hand.",
                   "! ", "  ");
  }
  if (d.known_length) {
    out += wrapped(
        "Perspective: what is nearer to the camera than the known length looks longer. "
        "Known length and test must lie in one plane.",
        "", "  ");
  }
  for (const std::string& caution : d.protocol->cautions) out += wrapped(caution, "! ", "  ");
  return out + cautions_block();
}

Result<void> write_folder(const std::filesystem::path& target, Overwrite overwrite,
                          const Image& picture, const formats::PhotoDocument& document,
                          TestPhotoOutcome& outcome) {
  ResultFolder folder = LINTEL_TRY(ResultFolder::create(target, overwrite, "photo.json"));
  const Image marked = LINTEL_TRY(draw_photo(document, picture));
  LINTEL_TRY_VOID(media::write_png(folder.path() / "marked.png", marked));
  LINTEL_TRY_VOID(folder.write_text("photo.json", outcome.json));
  LINTEL_TRY_VOID(folder.commit());
  outcome.text += "Results: " + target.string() + " (marked.png, photo.json)\n";
  return {};
}

}  // namespace

Result<TestPhotoOutcome> measure_test_photo(const TestPhotoRequest& request,
                                            const WorkContext& work) {
  std::vector<TestProtocol> loaded;
  if (request.library == nullptr) loaded = LINTEL_TRY(load_protocols(request.protocols));
  const auto& protocols = request.library == nullptr ? loaded : *request.library;
  const TestProtocol& protocol = *LINTEL_TRY(protocol_named(protocols, request.protocol));
  LINTEL_TRY_VOID(check_request(request, protocol));
  const std::string bytes =
      LINTEL_TRY(read_text_file(request.picture, kLargestPicture, "give a photograph"));
  const Image picture = LINTEL_TRY(media::read_still(request.picture));
  const auto found = LINTEL_TRY(find_body(request, work));

  formats::PhotoDocument document;
  document.protocol = &protocol;
  document.side = request.side;
  document.width_px = picture.width();
  document.height_px = picture.height();
  document.known_length = request.known_length;
  const double px_per_metre = rough_scale(found, request, picture);
  const auto side =
      request.side == TestSide::Right ? kinematics::BodySide::Right : kinematics::BodySide::Left;
  if (found) {
    document.points = kinematics::points_from_body(*protocol.photo, found->body, side, px_per_metre,
                                                   found->far_side);
  }
  document.originals =
      LINTEL_TRY(move_by_hand(request, protocol, picture, px_per_metre, document.points));
  document.reading = LINTEL_TRY(
      kinematics::measure_photo(protocol, document.points, request.known_length, px_per_metre)
          .map_error([&](Error error) {
            if (!found && error.code == ErrorCode::NotFound) {
              error.message = "nobody was found in the picture, and " + error.message;
            }
            return std::move(error.with_file(request.picture.filename().string()));
          }));
  const auto* raw = reinterpret_cast<const std::uint8_t*>(bytes.data());
  document.entry =
      entry_of(request, document, secure::sha256_hex({raw, bytes.size()}), found.has_value());
  TestPhotoOutcome outcome{text_of(document), formats::write_test_photo_json(document)};
  if (request.output) {
    LINTEL_TRY_VOID(write_folder(*request.output, request.overwrite, picture, document, outcome));
  }
  return outcome;
}

}  // namespace lintel::app
