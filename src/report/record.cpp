#include "report/record.h"

#include "base/cautions.h"
#include "report/page_parts.h"
#include "report/record_parts.h"

namespace lintel::report {

Result<Pages> render_record(const view::Visit& visit, const RecordOptions& options) {
  if (visit.athlete == nullptr) {
    return fail(ErrorCode::Invalid, "a record needs an athlete", "give the athlete's file");
  }
  const body::Athlete& athlete = *visit.athlete;
  const std::string who = athlete.name.empty() ? athlete.id : athlete.name;
  PageFrame frame;
  frame.paper = options.paper;
  frame.kind = "Practitioner's record";
  frame.who = who.empty() ? "No name" : who;
  frame.date = visit.issued_on;
  frame.line = visit.practitioner.empty() ? "" : "Seen by " + visit.practitioner;
  frame.footnote =
      "Lintel " + visit.program_version +
      ". ± is one standard error: about two times in three the true number lies that close.";
  frame.caution_size = 6.6;
  const DocumentInfo info{"Record of " + frame.who + ", " + long_date(visit.issued_on),
                          cautions_brief(), "Lintel " + visit.program_version, visit.issued_on};
  return render_pages(frame, info, [&](PageFlow& flow) {
    record::draw_intake(flow, visit, options.units);
    // A follow-up comes first and says what was tested; it does not list what it did not do.
    const bool is_follow_up = visit.follow_up != nullptr;
    record::draw_follow_up(flow, visit, options.units);
    if (!is_follow_up || visit.assessment != nullptr) {
      record::draw_measurement(flow, visit, options.units);
    }
    if (!is_follow_up || visit.tests != nullptr) record::draw_tests(flow, visit, options.units);
    if (!is_follow_up || visit.findings != nullptr) record::draw_findings(flow, visit);
    record::draw_next(flow, visit);
    record::draw_loads(flow, visit, options.units);
    record::draw_plan(flow, visit, options.units);
  });
}

}  // namespace lintel::report
