// Files that arrive in pieces over a bad network: begun, sent in chunks, resumed, checked.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "app/access.h"
#include "app/practice.h"
#include "base/result.h"
#include "store/uploads.h"

namespace lintel::app {

inline constexpr std::int64_t kChunkBytes = std::int64_t{8} << 20;  // largest piece
inline constexpr double kUploadLifetime = 24 * 3600.0;              // [s] after it was begun
inline constexpr std::int64_t kMostOpenUploads = 20;                // of one person

struct UploadRequest {
  std::string name;        // of the file, without folders; 1 to 200 bytes
  std::int64_t bytes = 0;  // 1 to Practice::settings.upload_limit_bytes
  std::string sha256;      // 64 hexadecimal digits, or empty
};

struct UploadState {
  std::string id, name;
  std::int64_t offset = 0;  // bytes that are on disk: send the next piece from here
  std::int64_t bytes = 0;
  std::int64_t chunk_bytes = kChunkBytes;
  std::string sha256;  // of the complete file; empty = not complete
  std::string expires_at;
  bool complete() const { return !sha256.empty(); }
};

// "bytes first-last/total" (RFC 9110, section 14.4). Errors: Invalid.
struct ContentRange {
  std::int64_t first = 0, last = 0, total = 0;
};
Result<ContentRange> parse_content_range(std::string_view text);

// Errors of all: Denied; NotFound for an upload of somebody else or past its time.
// Invalid for a name, size or digest that cannot be; Limit when the file is too large or too many
// uploads are open.
Result<UploadState> begin_upload(Practice& practice, const Caller& caller,
                                 const UploadRequest& request);
Result<UploadState> find_upload(Practice& practice, const Caller& caller, std::string_view id);
// The last piece completes it: size and digest are checked, the bytes move to the media folder.
// Errors: Conflict when the piece does not begin where the bytes on disk end (the message says
// where) or another request writes now; Invalid when the whole has another digest (the upload is
// dropped); Limit for a piece that is too large.
Result<UploadState> put_chunk(Practice& practice, const Caller& caller, std::string_view id,
                              const ContentRange& range, std::string_view bytes);
Result<void> drop_upload(Practice& practice, const Caller& caller, std::string_view id);

std::string upload_json(const UploadState& upload, std::string_view trial = {});
// Body of a POST. Errors: Invalid with every fault.
Result<UploadRequest> read_upload_request(std::string_view body);

// What the functions above do once it is known who may (hand_off.h comes in by another door).
Result<UploadState> begin_upload_of(Practice& practice, store::Upload upload);
Result<UploadState> upload_state(Practice& practice, const store::Upload& upload);
Result<UploadState> put_chunk_of(Practice& practice, const store::Upload& upload,
                                 const ContentRange& range, std::string_view bytes);
Result<void> drop_upload_of(Practice& practice, const store::Upload& upload);

// Removes what is past its time, and files whose row is gone (of an erased athlete). The server
// does this every hour.
Result<void> sweep_uploads(Practice& practice);

// Type by the name's ending: "video/mp4", "image/jpeg", ...; "application/octet-stream".
std::string media_type_of(std::string_view file_name);

}  // namespace lintel::app
