#include "report/square_code.h"

#include <algorithm>
#include <stdexcept>

#include <qrcodegen.hpp>

namespace lintel::report {
namespace {
constexpr int kLargestVersion = 25;  // 117 modules
constexpr int kQuiet = 4;            // modules of white around it, as the standard asks
constexpr Color kBlack = rgb(0x000000);
}  // namespace

std::optional<SquareCode> encode_square_code(std::string_view text) {
  using qrcodegen::QrCode;
  try {
    const std::vector<std::uint8_t> bytes(text.begin(), text.end());
    const QrCode qr =
        QrCode::encodeSegments({qrcodegen::QrSegment::makeBytes(bytes)}, QrCode::Ecc::LOW,
                               QrCode::MIN_VERSION, kLargestVersion);
    SquareCode code;
    code.size = qr.getSize();
    for (int y = 0; y < code.size; ++y) {
      for (int x = 0; x < code.size; ++x) code.dark.push_back(qr.getModule(x, y));
    }
    return code;
  } catch (const std::length_error&) {  // data_too_long
    return {};
  }
}

void draw_square_code(Canvas& canvas, const Box& box, const SquareCode& code) {
  const double side = std::min(box.width, box.height);
  const double module = side / (code.size + 2 * kQuiet);
  canvas.rectangle({box.x, box.y, side, side});
  canvas.fill(kPaper);
  // Runs of a row as one rectangle, so that no hairline shows between neighbours.
  for (int y = 0; y < code.size; ++y) {
    for (int x = 0; x < code.size; ++x) {
      if (!code.at(x, y)) continue;
      int end = x;
      while (end < code.size && code.at(end, y)) ++end;
      canvas.rectangle({box.x + (kQuiet + x) * module, box.y + (kQuiet + y) * module,
                        (end - x) * module, module});
      x = end;
    }
  }
  canvas.fill(kBlack);
}

}  // namespace lintel::report
