#include "app/hand_off.h"

#include <arpa/inet.h>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include <algorithm>
#include <array>
#include <memory>
#include <utility>

#include "app/audit.h"
#include "app/record_access.h"
#include "app/text_file.h"
#include "app/trial_records.h"
#include "base/instant.h"
#include "formats/clip_answers_json.h"
#include "formats/intake_json.h"
#include "report/square_code.h"
#include "secure/token.h"
#include "store/uploads.h"

namespace lintel::app {
namespace {

constexpr std::size_t kLongestSecret = 100;

Error not_good() {
  return Error{ErrorCode::NotFound,
               "this address is not good any more",
               {},
               "ask for a new square code",
               {}};
}

// ---- Where a phone finds this server

std::string host_of(std::string_view host_and_port) {
  if (host_and_port.starts_with('[')) {
    return std::string(host_and_port.substr(0, host_and_port.find(']') + 1));
  }
  return std::string(host_and_port.substr(0, host_and_port.rfind(':')));
}

std::string port_of(std::string_view host_and_port) {
  const std::size_t colon = host_and_port.rfind(':');
  const std::size_t bracket = host_and_port.rfind(']');
  if (colon == std::string_view::npos) return {};
  if (bracket != std::string_view::npos && bracket > colon) return {};
  return std::string(host_and_port.substr(colon));
}

bool is_loopback_name(std::string_view host) {
  return host.empty() || host == "localhost" || host.ends_with(".localhost") ||
         host.starts_with("127.") || host == "[::1]" || host == "::1";
}

bool is_everywhere(std::string_view host) {
  return host == "0.0.0.0" || host == "[::]" || host == "::" || host == "*";
}

// The first address of an interface that is up and not loopback; empty = none. IPv4: what a person
// could also type.
std::string own_address() {
  ifaddrs* first = nullptr;
  if (::getifaddrs(&first) != 0) return {};
  const std::unique_ptr<ifaddrs, void (*)(ifaddrs*)> all(first, ::freeifaddrs);
  for (const ifaddrs* at = all.get(); at != nullptr; at = at->ifa_next) {
    if (at->ifa_addr == nullptr || at->ifa_addr->sa_family != AF_INET) continue;
    if ((at->ifa_flags & IFF_UP) == 0 || (at->ifa_flags & IFF_LOOPBACK) != 0) continue;
    std::array<char, INET_ADDRSTRLEN> text{};
    const auto* address = reinterpret_cast<const sockaddr_in*>(at->ifa_addr);
    if (::inet_ntop(AF_INET, &address->sin_addr, text.data(), text.size()) != nullptr) {
      return text.data();
    }
  }
  return {};
}

// ---- The square code

std::string square_code_svg(std::string_view text) {
  const auto code = report::encode_square_code(text);
  if (!code) return {};
  constexpr int kQuiet = 4;  // modules around it
  const int side = code->size + 2 * kQuiet;
  std::string path;
  for (int y = 0; y < code->size; ++y) {
    for (int x = 0; x < code->size;) {
      int end = x;
      while (end < code->size && code->at(end, y)) ++end;
      if (end > x) {
        path += "M" + std::to_string(x + kQuiet) + " " + std::to_string(y + kQuiet) + "h" +
                std::to_string(end - x) + "v1H" + std::to_string(x + kQuiet) + "z";
      }
      x = std::max(end, x + 1);
    }
  }
  const std::string size = std::to_string(side);
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + size + " " + size +
         "\" role=\"img\" aria-label=\"Square code with the address of the upload page\" "
         "shape-rendering=\"crispEdges\"><rect width=\"" +
         size + "\" height=\"" + size + "\" fill=\"#fff\"/><path fill=\"#000\" d=\"" + path +
         "\"/></svg>";
}

std::string first_name(std::string_view intake) {
  const auto reading = formats::read_intake_json(intake, "");
  if (!reading.intake) return {};
  const std::string& name = reading.intake->athlete.name;
  return name.substr(0, name.find(' '));
}

// ---- Behind a secret

Result<store::HandOff> hand_off_of(Practice& practice, std::string_view secret) {
  if (secret.empty() || secret.size() > kLongestSecret) return fail(not_good());
  const std::string digest = secure::secret_digest(secret);
  return store::read_value<store::HandOff>(*practice.database, [&](store::Transaction& t) {
    return store::find_hand_off(t, digest, practice.now());
  });
}

Result<store::HandOff> open_one(Practice& practice, std::string_view secret) {
  store::HandOff hand_off = LINTEL_TRY(hand_off_of(practice, secret));
  if (!hand_off.spent_at.empty()) return fail(not_good());
  return hand_off;
}

Result<store::Upload> upload_of(Practice& practice, const store::HandOff& hand_off,
                                std::string_view id) {
  const auto uploads = LINTEL_TRY(store::read_value<std::vector<store::Upload>>(
      *practice.database,
      [&](store::Transaction& t) { return store::uploads_of_hand_off(t, hand_off.id); }));
  const auto found = std::ranges::find(uploads, id, &store::Upload::id);
  if (found == uploads.end()) return fail(not_good());
  return *found;
}

HandOffUpload answer(UploadState state, std::string_view trial) {
  std::string json = upload_json(state, trial);
  return {std::move(state), std::move(json)};
}

// The clip has arrived: trial, job and the end of the secret in one transaction.
Result<HandOffUpload> settle(Practice& practice, const store::HandOff& hand_off,
                             const store::Upload& upload, UploadState state) {
  if (!state.complete()) return answer(std::move(state), "");
  if (!hand_off.spent_at.empty()) return answer(std::move(state), hand_off.trial);
  const std::string now = practice.now();
  const auto make = [&](store::Transaction& t) -> Result<std::string> {
    NewTrial made;
    made.visit = LINTEL_TRY(store::find_record(t, hand_off.organization, hand_off.visit));
    made.clip = {upload.name, state.sha256, upload.media_type, upload.bytes};
    const Caller caller = on_behalf_of(hand_off.created_by, hand_off.organization, "hand-off");
    const TrialAndJob added = LINTEL_TRY(add_trial(t, practice, caller, made));
    LINTEL_TRY_VOID(store::spend_hand_off(t, hand_off.id, added.trial.id, now));
    return added.trial.id;
  };
  const std::string trial = LINTEL_TRY(store::write_value<std::string>(*practice.database, make));
  return answer(std::move(state), trial);
}

}  // namespace

ReachableAddress reachable_address(std::string_view listen, std::string_view host, bool tls) {
  const std::string scheme = tls ? "https://" : "http://";
  if (!is_loopback_name(host_of(host)) && !is_everywhere(host_of(host))) {
    return {scheme + std::string(host), true};
  }
  const std::string port = port_of(host.empty() ? listen : host);
  std::string name = host_of(listen);
  if (is_everywhere(name)) name = own_address();
  if (is_loopback_name(name)) {
    return {scheme + (host.empty() ? "127.0.0.1" + port : std::string(host)), false};
  }
  return {scheme + name + port, true};
}

Result<std::string> offer_hand_off(Practice& practice, const Caller& caller, std::string_view visit,
                                   const ReachableAddress& address) {
  LINTEL_TRY_VOID(require(caller, Permission::EnterTests));
  const std::string secret = secure::new_secret();
  const std::string now = practice.now();
  formats::HandOffFacts facts;
  facts.url = address.base + "/u/" + secret;
  facts.expires_at = instant_after(now, kHandOffLifetime);
  facts.reachable = address.reachable;
  if (!address.reachable) {
    facts.advice =
        "This server listens on this computer alone, so no phone can reach it. Start it with "
        "--listen 0.0.0.0:8421 and a certificate (--tls-make makes one).";
  }
  const Result<void> kept = practice.database->write([&](store::Transaction& t) -> Result<void> {
    const store::Record record =
        LINTEL_TRY(find_for(t, caller, Permission::EnterTests, visit, store::RecordKind::Visit));
    store::HandOff hand_off;
    hand_off.organization = record.organization;
    hand_off.athlete = record.athlete;
    hand_off.visit = record.id;
    hand_off.created_by = caller.person;
    hand_off.creator_role = role_name(caller.role);
    hand_off.secret_sha256 = secure::secret_digest(secret);
    hand_off.created_at = now;
    hand_off.expires_at = facts.expires_at;
    LINTEL_TRY(store::add_hand_off(t, hand_off));
    return note_change(t, practice, caller, {"hand_off_made", record.id, record.athlete, {}});
  });
  if (!kept) return fail(kept.error());
  facts.qr_svg = square_code_svg(facts.url);
  return formats::write_hand_off_json(facts);
}

Result<std::string> open_hand_off(Practice& practice, std::string_view secret) {
  const store::HandOff hand_off = LINTEL_TRY(open_one(practice, secret));
  return store::read_value<std::string>(
      *practice.database, [&](store::Transaction& t) -> Result<std::string> {
        const store::Record visit =
            LINTEL_TRY(store::find_record(t, hand_off.organization, hand_off.visit));
        const store::Record athlete =
            LINTEL_TRY(store::find_record(t, hand_off.organization, hand_off.athlete));
        return formats::write_hand_off_visit_json(first_name(athlete.document),
                                                  formats::date_of_visit(visit.document),
                                                  hand_off.expires_at);
      });
}

Result<HandOffUpload> begin_hand_off_upload(Practice& practice, std::string_view secret,
                                            const UploadRequest& request) {
  const store::HandOff hand_off = LINTEL_TRY(open_one(practice, secret));
  const auto earlier = LINTEL_TRY(store::read_value<std::vector<store::Upload>>(
      *practice.database,
      [&](store::Transaction& t) { return store::uploads_of_hand_off(t, hand_off.id); }));
  for (const store::Upload& upload : earlier) {
    if (upload.expected_sha256 == request.sha256 && upload.bytes == request.bytes &&
        request.name.ends_with(upload.name)) {
      return settle(practice, hand_off, upload, LINTEL_TRY(upload_state(practice, upload)));
    }
    if (upload.complete()) {  // the server was stopped before its trial was made
      const UploadState state = LINTEL_TRY(upload_state(practice, upload));
      LINTEL_TRY(settle(practice, hand_off, upload, state));
      return fail(not_good());
    }
    LINTEL_TRY_VOID(drop_upload_of(practice, upload));
  }
  store::Upload upload;
  upload.organization = hand_off.organization;
  upload.created_by = hand_off.created_by;
  upload.hand_off = hand_off.id;
  upload.athlete = hand_off.athlete;
  upload.name = request.name;
  upload.bytes = request.bytes;
  upload.expected_sha256 = request.sha256;
  return answer(LINTEL_TRY(begin_upload_of(practice, std::move(upload))), "");
}

Result<HandOffUpload> find_hand_off_upload(Practice& practice, std::string_view secret,
                                           std::string_view id) {
  const store::HandOff hand_off = LINTEL_TRY(hand_off_of(practice, secret));
  const store::Upload upload = LINTEL_TRY(upload_of(practice, hand_off, id));
  return settle(practice, hand_off, upload, LINTEL_TRY(upload_state(practice, upload)));
}

Result<HandOffUpload> put_hand_off_chunk(Practice& practice, std::string_view secret,
                                         std::string_view id, const ContentRange& range,
                                         std::string_view bytes) {
  const store::HandOff hand_off = LINTEL_TRY(hand_off_of(practice, secret));
  const store::Upload upload = LINTEL_TRY(upload_of(practice, hand_off, id));
  return settle(practice, hand_off, upload,
                LINTEL_TRY(put_chunk_of(practice, upload, range, bytes)));
}

}  // namespace lintel::app
