#include "app/test_entry.h"

#include "app/athlete_file.h"
#include "app/test_library.h"
#include "app/test_text.h"
#include "formats/athlete_json.h"
#include "formats/test_record_json.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestRecord = 1 << 20;

// Those of the record come last and so count.
Result<void> add_own_errors(const TestEntryRequest& request,
                            const std::vector<body::TestProtocol>& protocols,
                            body::TestRecord& record) {
  std::vector<body::OwnError> all;
  for (const std::filesystem::path& file : request.own_errors) {
    const std::string bytes = LINTEL_TRY(
        read_text_file(file, kLargestRecord, "give a report of: lintel tests reliability --json"));
    auto reading = formats::read_own_error_json(bytes, file.filename().string(), protocols);
    if (!reading.error) return fail(joined_faults(reading.faults));
    all.push_back(*std::move(reading.error));
  }
  all.insert(all.end(), record.standard_errors.begin(), record.standard_errors.end());
  record.standard_errors = std::move(all);
  return {};
}

}  // namespace

Result<TestEntryOutcome> enter_tests(const TestEntryRequest& request) {
  const auto protocols = LINTEL_TRY(load_protocols(request.protocols));
  const body::Athlete athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  const std::string name = request.record.filename().string();
  const std::string bytes = LINTEL_TRY(read_text_file(
      request.record, kLargestRecord, "give the record of the visit (lintel-tests-1)"));
  auto reading = formats::read_test_record_json(bytes, name, protocols);
  if (!reading.record) return fail(joined_faults(reading.faults));
  LINTEL_TRY_VOID(add_own_errors(request, protocols, *reading.record));
  const body::RecordOutcome outcome =
      LINTEL_TRY(body::evaluate_record(*reading.record, protocols, athlete).map_error([&](Error e) {
        return std::move(e.with_file(name));
      }));
  const body::Athlete next = body::with_results(athlete, outcome);
  TestEntryOutcome out;
  out.text = record_outcome_text(*reading.record, outcome,
                                 athlete.name.empty() ? athlete.id : athlete.name);
  out.json = formats::write_test_outcome_json(*reading.record, outcome);
  out.athlete_json = formats::write_athlete_json(next);
  // The grip that the crease gives may not fit the shoulders: nothing is written that cannot be
  // read again.
  const auto again =
      formats::read_athlete_json(out.athlete_json, request.athlete.filename().string());
  if (!again.athlete) return fail(joined_faults(again.faults));
  if (request.output) {
    LINTEL_TRY_VOID(write_text_file(*request.output, out.athlete_json, request.existing));
    out.text += "Athlete with these tests: " + request.output->string() + "\n";
  }
  return out;
}

}  // namespace lintel::app
