// `lintel tests enter`: a visit's mobility tests into the athlete.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/text_file.h"
#include "base/result.h"

namespace lintel::app {

struct TestEntryRequest {
  std::filesystem::path record;                    // lintel-tests-1
  std::filesystem::path athlete;                   // athlete.json
  std::optional<std::filesystem::path> protocols;  // folder of own protocols
  // Reports of `lintel tests reliability --json`: the tester's own errors, where the record has
  // none.
  std::vector<std::filesystem::path> own_errors;
  std::optional<std::filesystem::path> output;  // athlete.json with the tests filled in
  ExistingFile existing = ExistingFile::Keep;
};

struct TestEntryOutcome {
  std::string text;          // each result, its line and what it means, with the cautions
  std::string json;          // lintel-tests-outcome-1
  std::string athlete_json;  // the athlete with the tests filled in
};

// Errors: those of the files (every fault with line and field), of body::evaluate_record, Conflict
// when the output exists.
Result<TestEntryOutcome> enter_tests(const TestEntryRequest& request);

}  // namespace lintel::app
