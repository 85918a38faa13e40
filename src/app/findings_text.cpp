// Findings for a person at a terminal.
#include <algorithm>
#include <cmath>

#include "app/findings_use_case.h"
#include "app/text_blocks.h"
#include "base/text.h"

namespace lintel::app {
namespace {

using reasoning::Confidence;
using reasoning::Evidence;
using reasoning::Finding;
using reasoning::FindingKind;
using reasoning::FindingStatus;

double degrees(double radians) {
  return std::round(radians * kDegreesPerRadian) + 0.0;
}

// "repetitions 1, 2 and 3: 47, 48, 49 deg, frames 88, 190, 301" of the entries behind `mean`.
std::string repetitions_text(const Finding& f, std::size_t mean) {
  std::string numbers, values, frames;
  for (std::size_t i = mean + 1; i < f.evidence.size() && f.evidence[i].repetition > 0; ++i) {
    const Evidence& e = f.evidence[i];
    const std::string comma = numbers.empty() ? "" : ", ";
    numbers += comma + std::to_string(e.repetition);
    values += comma + text("%.0f", degrees(e.value->value));
    if (e.frame >= 0) frames += (frames.empty() ? "" : ", ") + std::to_string(e.frame);
  }
  if (numbers.empty()) return {};
  return " (repetition " + numbers + ": " + values + " deg" +
         (frames.empty() ? "" : "; frame " + frames) + ")";
}

std::string evidence_text(const Finding& f) {
  std::string out;
  for (std::size_t i = 0; i < f.evidence.size(); ++i) {
    const Evidence& e = f.evidence[i];
    if (e.repetition > 0) continue;
    const std::string_view source = reasoning::evidence_source_name(e.source);
    const bool model = e.source == reasoning::EvidenceSource::Model;
    out += wrapped((model ? "" : std::string(source) + ": ") + e.text + repetitions_text(f, i),
                   e.bearing == reasoning::Bearing::Supports ? "     + " : "     - ", "       ");
  }
  return out;
}

std::string overruling_text(const reasoning::Overruling& o) {
  std::string verdict = o.verdict == reasoning::Verdict::Rejected   ? "not so"
                        : o.verdict == reasoning::Verdict::Asserted ? "it is so"
                                                                    : "overruling withdrawn";
  if (o.size) verdict += text(", %.0f deg", degrees(*o.size));
  return o.date.iso() + ", " + o.who + ": " + verdict + ". " + o.reason;
}

std::string finding_text(const Finding& f, int number) {
  std::string head = f.title;
  if (f.status() == FindingStatus::Conflict) head += " [the evidence disagrees]";
  if (f.status() == FindingStatus::Overruled) head += " [overruled]";
  std::string out = wrapped(head, text("%3d. ", number), "     ");
  out += wrapped(f.sentence, "     ", "     ");
  out += evidence_text(f);
  if (!f.conflict.empty()) out += wrapped(f.conflict, "     ! ", "       ");
  for (const auto& o : f.earlier_overrulings) {
    out += wrapped(overruling_text(o), "     > ", "       ");
  }
  if (f.overruling) out += wrapped(overruling_text(*f.overruling), "     > ", "       ");
  return out;
}

bool is_worth_telling(const Finding& f) {
  return f.kind != FindingKind::Untested &&
         (f.confidence != Confidence::Unlikely || f.status() != FindingStatus::Standing);
}

std::string findings_part(const reasoning::Findings& findings) {
  std::string out;
  int number = 0;
  for (const Finding& f : findings.all) {
    if (is_worth_telling(f)) out += finding_text(f, ++number);
  }
  if (out.empty()) out = "  None: too little was tested to find anything.\n";
  return "Findings\n" + out;
}

std::string ruled_out_part(const reasoning::Findings& findings) {
  std::string names;
  for (const Finding& f : findings.all) {
    if (is_worth_telling(f) || f.kind == FindingKind::Untested || !f.size) continue;
    names += (names.empty() ? "" : "; ") + f.title +
             text(" %.0f deg (%.0f %%)", degrees(f.size->value), 100.0 * f.probability);
  }
  return names.empty() ? "" : wrapped(names + ".", "Not found to cost lean: ", "  ");
}

std::string untested_part(const reasoning::Findings& findings) {
  std::string out;
  for (const Finding& f : findings.all) {
    if (f.kind != FindingKind::Untested) continue;
    out += wrapped(f.title + ". " + f.sentence, "  - ", "    ");
    if (f.overruling) out += wrapped(overruling_text(*f.overruling), "    > ", "      ");
  }
  return out.empty() ? "" : "Not tested, so not found\n" + out;
}

std::string setups_part(const AthleteFindings& found) {
  if (found.setups.empty()) return {};
  std::string out = "Film now (setup is tried before mobility)\n";
  int number = 0;
  for (const auto& s : found.setups) {
    out += wrapped(s.how + ". " + s.why, text("%3d. ", ++number), "     ");
    out += wrapped(s.shows, "     ", "     ");
    std::string costs;
    for (const reasoning::Cost cost : s.costs) {
      costs += (costs.empty() ? "" : " ") + std::string(reasoning::cost_sentence(cost));
    }
    if (!costs.empty()) out += wrapped("If kept: " + costs, "     ", "     ");
  }
  return out;
}

std::string tests_part(const reasoning::TestChoice& choice) {
  std::string out = "Tests\n" + wrapped(choice.sentence, "  ", "  ");
  if (choice.stop != reasoning::StopReason::NotYet) return out;
  constexpr std::size_t kShown = 3;
  constexpr double kWorthShowing = 0.02;  // [bits]
  for (std::size_t i = 0; i < std::min(kShown, choice.options.size()); ++i) {
    const auto& o = choice.options[i];
    if (i > 0 && o.value.information < kWorthShowing) break;
    out += wrapped(
        std::string(reasoning::test_label(o.test)) + (o.repeat ? " (again)" : "") + ": " + o.why,
        text("%3zu. ", i + 1), "     ");
  }
  return out;
}

std::string targets_part(const std::vector<reasoning::Target>& targets) {
  std::string out;
  for (const auto& t : targets) {
    std::string line(reasoning::factor_label(t.part));
    if (t.side) line += *t.side == body::Side::Left ? ", left" : ", right";
    out += text("  - %-32s %3.0f deg   95 %%: %3.0f to %3.0f   %3.0f %%\n", line.c_str(),
                degrees(t.size.value), degrees(t.size.low), degrees(t.size.high),
                100.0 * t.probability);
  }
  return out.empty() ? "" : "What there is to work on, setup first\n" + out;
}

}  // namespace

std::string findings_text(const AthleteFindings& found) {
  const body::Athlete& a = found.athlete;
  std::string out = (!a.name.empty() ? a.name : a.id) + ": findings\n";
  for (const std::string& remark : found.remarks) out += wrapped(remark, "! ", "  ");
  out += findings_part(found.findings);
  out += ruled_out_part(found.findings);
  out += untested_part(found.findings);
  out += setups_part(found);
  out += tests_part(found.tests);
  out += targets_part(found.targets);
  out += wrapped(reasoning::confidence_explanation(), "", "  ");
  return out + cautions_block();
}

}  // namespace lintel::app
