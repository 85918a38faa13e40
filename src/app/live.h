// The live view: one picture of a camera in, where the body and the bar are out.
#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <string_view>

#include "app/access.h"
#include "base/result.h"

namespace lintel::app {

struct LiveOptions {
  std::filesystem::path models;  // empty = found by itself
  int threads = 0;               // 0 = one for each core
  std::size_t sessions = 8;      // followed at once; the one silent longest makes room
  double forget_after_s = 60;
};

struct LivePicture {
  std::string session;          // 1 to 64 letters, digits, "-" or "_"; chosen by the page
  std::string_view bytes;       // of a JPEG
  double stature = 1.70;        // [m]
  double disc_diameter = 0.45;  // [m]
};

// Thread-safe: pictures are looked at one after the other, each of its session in the light of the
// one before. The network (lite) is loaded at the first picture.
class LiveView {
 public:
  explicit LiveView(LiveOptions options);
  ~LiveView();
  LiveView(const LiveView&) = delete;
  LiveView& operator=(const LiveView&) = delete;

  // {"width_px", "height_px", "landmarks", "trunk_deg", "bar", "ms"}: what this one picture shows,
  // without fit or camera check; trunk_deg is the line mid-hip to mid-shoulder from the picture's
  // vertical, forward positive. Errors: Denied; Invalid for what is no JPEG or a bad name; Io when
  // too many pictures wait (send one after the other); NotFound without the networks.
  Result<std::string> look(const Caller& caller, const LivePicture& picture);
  std::size_t session_count() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace lintel::app
