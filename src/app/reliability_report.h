// `lintel tests reliability`: what repeated measurements say about a test and its tester.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "base/result.h"
#include "body/test_protocol.h"

namespace lintel::app {

struct ReliabilityRequest {
  std::filesystem::path ratings;                   // CSV, see formats/ratings_csv.h
  std::optional<std::string> protocol;             // its published error is brought up to date
  std::optional<std::filesystem::path> protocols;  // folder of own protocols
  std::optional<double> published;  // standard error, in the unit of the table; not with protocol
  std::optional<double> published_df;  // empty = reliability::kPublishedDegreesOfFreedom
  int tries_per_value = 1;             // every number of the table is the mean of so many tries
  std::string unit;                    // for people, when there is no protocol
};

struct ReliabilityOutcome {
  std::string text;  // with the cautions
  std::string json;  // lintel-reliability-1
};

// Errors: NotFound, Io, Limit of the file; those of the table (with line and column), of the
// statistics (one rater, constant ratings, ...), of the protocols; Invalid when a protocol and a
// published error are both given.
Result<ReliabilityOutcome> report_reliability(const ReliabilityRequest& request);

// The same for a table and a protocol in hand: "lintel-reliability-1" with "standard_error", the
// updated error as a workplace may take it over ({"value", "tries", "share_between_tries",
// "source"}; null where it is none that a protocol may have). today: ISO 8601.
Result<std::string> reliability_of_table(std::string_view table, const body::TestProtocol& protocol,
                                         int tries_per_value, const std::string& today);

}  // namespace lintel::app
