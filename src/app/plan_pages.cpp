#include "app/plan_pages.h"

#include "app/version.h"
#include "report/handout.h"
#include "report/letter.h"
#include "report/record.h"
#include "view/visit.h"

namespace lintel::app {
namespace {

view::Visit visit_of(const PlanPagesInput& input) {
  view::Visit visit;
  visit.program_version = version();
  visit.issued_on = input.issued_on;
  visit.practitioner = input.practitioner;
  visit.athlete = input.athlete;
  visit.tests = input.tests;
  visit.tests_on = input.tests_on;
  visit.plan = input.plan;
  visit.library = *input.drills;
  if (input.found != nullptr) {
    visit.findings = &input.found->findings;
    visit.next_test = &input.found->tests;
    visit.setups_to_film = input.found->setups;
  }
  return visit;
}

}  // namespace

Result<void> write_plan_pages(const PlanPagesInput& input, const ResultFolder& folder) {
  view::Visit visit = visit_of(input);
  std::optional<view::Assessment> assessment;
  if (input.found != nullptr && input.found->seen.stored) {
    visit.assessment = &assessment.emplace(input.found->seen.stored->view());
  }
  const report::Paper paper =
      input.paper == PaperSize::Letter ? report::Paper::Letter : report::Paper::A4;
  const report::UnitSystem units =
      input.imperial ? report::UnitSystem::Imperial : report::UnitSystem::Metric;
  const report::Pages handout = LINTEL_TRY(report::render_handout(visit, {paper, units}));
  LINTEL_TRY_VOID(folder.write_text("handout.pdf", handout.pdf));
  const report::Pages record = LINTEL_TRY(report::render_record(visit, {paper, units}));
  LINTEL_TRY_VOID(folder.write_text("record.pdf", record.pdf));
  report::LetterOptions options;
  options.paper = paper;
  options.units = units;
  if (!input.practitioner.empty()) options.sender = {input.practitioner};
  options.recipient = input.letter.recipient;
  options.reason = input.letter.reason;
  options.request = input.letter.request;
  const report::Pages letter = LINTEL_TRY(report::render_letter(visit, options));
  return folder.write_text("letter.pdf", letter.pdf);
}

}  // namespace lintel::app
