// A mobility test read off a photo, for a visit.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "app/record_access.h"
#include "base/progress.h"
#include "body/test_record.h"
#include "kinematics/photo_measure.h"

namespace lintel::app {

struct VisitPhoto {
  std::string_view picture;  // bytes of a JPEG or PNG; empty with `media`
  std::string media;         // digest of a picture that was kept with this athlete before
  std::string protocol;
  body::TestSide side = body::TestSide::Both;
  std::string points;         // {"knee": [x, y], ...}: moved by hand; may be empty
  std::optional<int> person;  // from the left
  std::optional<kinematics::KnownLength> known_length;  // what a distance needs
  bool keep = false;                                    // the picture stays with the visit
};
// "lintel-test-photo-1", with "media" (digest) where the picture is kept. Errors: those of access
// and of measure_test_photo; NotFound for `media` of somebody else.
Result<std::string> measure_visit_photo(Practice& practice, const Caller& caller,
                                        std::string_view visit, const VisitPhoto& photo,
                                        const WorkContext& work);

}  // namespace lintel::app
