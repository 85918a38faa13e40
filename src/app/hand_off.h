// A phone films for a visit without an account: a secret in a square code, good once and for half
// an hour. Texts out are JSON of the API.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "app/access.h"
#include "app/practice.h"
#include "app/uploads.h"
#include "base/result.h"

namespace lintel::app {

inline constexpr double kHandOffLifetime = 30 * 60.0;  // [s]

// Where a phone finds this server.
struct ReachableAddress {
  std::string base;       // "https://192.168.1.20:8421"
  bool reachable = true;  // false: this server listens on this computer alone
};
// `listen` ("host:port") is what the server listens on, `host` the Host header of the asker: kept
// unless it is a loopback name; for 0.0.0.0 and [::] the first address of this machine that is not
// loopback takes its place.
ReachableAddress reachable_address(std::string_view listen, std::string_view host, bool tls);

// {"url", "qr_svg", "expires_at", "reachable", "advice"}. Errors: those of access; NotFound for the
// visit.
Result<std::string> offer_hand_off(Practice& practice, const Caller& caller, std::string_view visit,
                                   const ReachableAddress& address);

// Errors of all below: NotFound when the secret is unknown, spent or past its time; which of these
// is not told.

// {"athlete_first_name", "visit_date", "expires_at"}: what the page of the phone shows.
Result<std::string> open_hand_off(Practice& practice, std::string_view secret);

struct HandOffUpload {
  UploadState upload;
  std::string json;
};
// A further call with the same name and size goes on with the same upload; another file replaces
// one that is not complete.
Result<HandOffUpload> begin_hand_off_upload(Practice& practice, std::string_view secret,
                                            const UploadRequest& request);
// Also after the secret was spent by this very upload, so that a lost answer can be asked for.
Result<HandOffUpload> find_hand_off_upload(Practice& practice, std::string_view secret,
                                           std::string_view upload);
// The last piece makes the trial and its job and spends the secret.
Result<HandOffUpload> put_hand_off_chunk(Practice& practice, std::string_view secret,
                                         std::string_view upload, const ContentRange& range,
                                         std::string_view bytes);

}  // namespace lintel::app
