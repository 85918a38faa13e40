// TLS: the context of the listener, and a certificate made here when there is none.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "base/result.h"

struct ssl_ctx_st;

namespace lintel::server {

// TLS 1.2 and 1.3, HTTP/1.1 by ALPN. The caller owns it. Errors: NotFound, Invalid (no certificate,
// or a key that is not its own).
Result<ssl_ctx_st*> make_tls_context(const std::filesystem::path& certificate,
                                     const std::filesystem::path& key);

struct MadeCertificate {
  std::filesystem::path certificate, key;
  std::string sha256;   // fingerprint as browsers show it: "AB:CD:..."
  std::string expires;  // ISO 8601 day
  bool fresh = false;   // made by this call
};

// A certificate signed by its own key (P-256, 397 days) for these names and addresses, in
// <folder>/tls/. One that is there, names them all and lasts for 30 days more is kept. The key is
// readable by its owner alone. Errors: Io, Internal.
Result<MadeCertificate> own_certificate(const std::filesystem::path& folder,
                                        const std::vector<std::string>& names,
                                        const std::vector<std::string>& addresses);

// "AB:CD:..." of the first certificate of a PEM file. Errors: NotFound, Invalid.
Result<std::string> certificate_fingerprint(const std::filesystem::path& certificate);

}  // namespace lintel::server
