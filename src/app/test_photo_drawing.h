// What report/photo_drawing needs, from the points and the recipe of a test's photo.
#pragma once

#include "base/image.h"
#include "base/result.h"
#include "formats/test_photo_json.h"

namespace lintel::app {

// Points, lines, angle and result on the picture. Errors: those of report::mark_test_photo.
Result<Image> draw_photo(const formats::PhotoDocument& document, const Image& picture);

}  // namespace lintel::app
