#include "app/findings_use_case.h"

#include <algorithm>
#include <sstream>

#include "app/athlete_file.h"
#include "app/text_file.h"
#include "formats/findings_json.h"
#include "formats/overrulings_json.h"
#include "jobs/thread_pool.h"
#include "plan/plan.h"

namespace lintel::app {
namespace {

constexpr std::uintmax_t kLargestOverrulings = 1u << 20;  // [bytes], as the reader's own limit

void add_remarks(AthleteFindings& found) {
  const plan::Triage triage = plan::triage(found.athlete.warning_signs);
  if (triage.clearance != plan::Clearance::Full) {
    found.setups.clear();
    found.remarks.emplace_back("Warning signs were noted: no squat is suggested for filming.");
    std::istringstream lines(plan::referral_text(triage));
    for (std::string line; std::getline(lines, line);) {
      if (!line.empty()) found.remarks.push_back(line);
    }
  }
  for (const reasoning::Overruling& o : found.findings.unmatched) {
    found.remarks.push_back("The overruling of \"" + o.finding + "\" of " + o.date.iso() + " (" +
                            o.who + ") concerns nothing that is found today; it stays on record.");
  }
}

}  // namespace

Result<std::vector<reasoning::Overruling>> read_overrulings(const std::filesystem::path& file,
                                                            const std::string& athlete_id) {
  const std::string text = LINTEL_TRY(
      read_text_file(file, kLargestOverrulings, "give a file of schema \"lintel-overrulings-1\""));
  const std::string name = file.filename().string();
  formats::OverrulingsReading reading = formats::read_overrulings_json(text, name);
  if (!reading.file) return fail(joined_faults(reading.faults));
  if (reading.file->athlete_id != athlete_id) {
    Error error{ErrorCode::Conflict,
                "the overrulings are of athlete \"" + reading.file->athlete_id + "\", not of \"" +
                    athlete_id + "\"",
                {},
                "give the file of this athlete",
                {}};
    error.with_file(name);
    error.place.field = "athlete";
    return fail(std::move(error));
  }
  return std::move(reading.file->overrulings);
}

void apply_overrulings(const std::vector<reasoning::Overruling>& overrulings,
                       AthleteFindings& found) {
  reasoning::overrule(found.findings, overrulings);
  found.targets = reasoning::targets_from_findings(found.findings);
  add_remarks(found);
}

Result<AthleteFindings> compute_findings(FindingsSubject subject, const FindingsOptions& options,
                                         const WorkContext& work) {
  AthleteFindings found;
  found.athlete = std::move(subject.athlete);
  found.seen = std::move(subject.seen);
  jobs::ThreadPool pool(static_cast<std::size_t>(std::max(0, options.threads)));
  reasoning::ExplainOptions explain;
  explain.draws = options.draws;
  explain.seed = options.seed;
  explain.samples = reasoning::Samples::Kept;
  found.explained =
      LINTEL_TRY(reasoning::explain(found.athlete, found.seen.observation, explain, pool, work));
  work.report("findings", 0, 1);
  found.findings =
      LINTEL_TRY(reasoning::find_findings({found.athlete, found.seen.observation, found.explained,
                                           found.seen.repetitions, found.seen.assessment}));
  found.tests = LINTEL_TRY(reasoning::choose_test({found.athlete, found.explained, {}}));
  if (work.cancelled()) return fail(cancelled_error());
  found.setups = LINTEL_TRY(reasoning::find_setups_to_film(found.explained));
  apply_overrulings(subject.overrulings, found);
  work.report("findings", 1, 1);
  return found;
}

Result<AthleteFindings> compute_findings(const FindingsRequest& request, const WorkContext& work) {
  FindingsSubject subject;
  subject.athlete = LINTEL_TRY(read_athlete_file(request.athlete));
  if (request.overrulings) {
    subject.overrulings = LINTEL_TRY(read_overrulings(*request.overrulings, subject.athlete.id));
  }
  subject.seen = LINTEL_TRY(read_seen_squat(request.seen));
  return compute_findings(std::move(subject), {request.draws, request.seed, request.threads}, work);
}

std::string findings_json(const AthleteFindings& found) {
  return formats::write_findings_json({found.athlete.id, found.seen.assessment, found.findings,
                                       found.setups, found.tests, found.targets, found.remarks});
}

Result<FindingsOutcome> findings_of_athlete(const FindingsRequest& request,
                                            const WorkContext& work) {
  const AthleteFindings found = LINTEL_TRY(compute_findings(request, work));
  return FindingsOutcome{findings_text(found), findings_json(found)};
}

}  // namespace lintel::app
