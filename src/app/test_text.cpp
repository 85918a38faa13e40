#include "app/test_text.h"

#include <algorithm>
#include <cmath>

#include "app/text_blocks.h"
#include "base/text.h"

namespace lintel::app {
namespace {

using body::ProtocolUnit;
using body::TestOutcome;
using body::TestProtocol;

std::string unit_name(ProtocolUnit unit) {
  return std::string(body::protocol_unit_name(unit));
}

// One digit after the point where that is what one reads off a tape.
std::string plain(double si, ProtocolUnit unit) {
  const double value = si / body::si_per_unit(unit);
  std::string digits = text("%.1f", value);
  if (digits.ends_with(".0") && unit != ProtocolUnit::Centimetres) {
    digits.resize(digits.size() - 2);
  }
  return digits == "-0" || digits == "-0.0" ? digits.substr(1) : digits;
}

std::string words_of(std::string_view name) {
  std::string words(name);
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

std::string signs_text(const std::vector<body::WarningSign>& signs) {
  std::string all;
  for (const body::WarningSign sign : signs) {
    all += (all.empty() ? "" : ", ") + words_of(body::warning_sign_name(sign));
  }
  return all;
}

std::string pass_line_text(const TestProtocol& p) {
  if (!p.pass_line) return "none";
  return p.pass_line->label + " (" + p.pass_line->source + ")";
}

std::string heading(const std::string& words) {
  return "\n" + words + "\n";
}

std::string tries_text(const TestOutcome& r) {
  const ProtocolUnit unit = r.protocol->unit;
  if (r.entry->reached) {
    return *r.entry->reached == body::Reached::Yes ? "reached" : "not reached";
  }
  std::string all;
  for (const double t : r.entry->tries) all += (all.empty() ? "" : ", ") + plain(t, unit);
  all = (r.entry->tries.size() == 1 ? "one try " : "tries ") + all;
  if (r.entry->tries.size() > 1) all += ", SD " + plain(r.standard_deviation, unit);
  return all;
}

std::string pass_text(const TestOutcome& r) {
  if (!r.pass) return "no pass line";
  const ProtocolUnit unit = r.protocol->unit;
  std::string line = r.pass->passes ? "passes: " : "does not pass: ";
  line += r.protocol->pass_line->label;
  if (r.protocol->pass_line->relative_to != body::PassReference::Absolute) {
    line += ", here " + value_text(r.pass->line.value, unit);
  }
  if (r.pass->within_error) line += ", but within the error of the test";
  return line;
}

std::string result_lines(const TestOutcome& r) {
  std::string line = r.entry->side == body::TestSide::Both
                         ? "  "
                         : text("  %-6s", std::string(body::test_side_name(r.entry->side)).c_str());
  const std::string expected = r.entry->reached ? ", hence about " : "";
  line += r.entry->reached ? tries_text(r) + expected + estimate_text(r.result, r.protocol->unit)
                           : estimate_text(r.result, r.protocol->unit) + " (" + tries_text(r) + ")";
  return wrapped(line + "; " + pass_text(r) + ".", "", "        ");
}

std::string side_lines(const body::SideComparison& c) {
  const ProtocolUnit unit = c.protocol->unit;
  std::string line = "left less right " + estimate_text(c.difference, unit) + ": ";
  line += c.beyond_error ? "more than" : "less than";
  line += " the smallest difference that can be told, " + value_text(c.detectable, unit);
  if (c.protocol->side_difference) {
    line += std::string(c.beyond_usual ? ", more than" : ", within") + " what is usual, " +
            value_text(c.protocol->side_difference->value, unit);
  }
  return wrapped(line + ".", "  ", "        ");
}

std::string sources_lines(const TestOutcome& r) {
  std::string out;
  if (r.protocol->pass_line) {
    out += wrapped("Line: " + r.protocol->pass_line->source + ".", "  ", "        ");
  }
  out += wrapped(std::string(r.own_error ? "Error, your own: " : "Error: ") +
                     value_text(r.error_used.value, r.protocol->unit) + ", " + r.error_used.source +
                     ".",
                 "  ", "        ");
  std::string means = r.protocol->informs.text;
  if (r.protocol->informs.test) {
    means += " (Fills \"" + words_of(body::mobility_test_name(*r.protocol->informs.test)) +
             "\" of the model.)";
  } else if (r.protocol->informs.grip_width) {
    means += " (Fills the grip width of the setup.)";
  }
  return out + wrapped(means, "  For the squat: ", "        ");
}

}  // namespace

std::string value_text(double si, ProtocolUnit unit) {
  return plain(si, unit) + " " + unit_name(unit);
}

std::string estimate_text(const Estimate& e, ProtocolUnit unit) {
  return plain(e.value, unit) + " +/- " + plain(e.standard_error, unit) + " " + unit_name(unit);
}

std::string protocol_list_text(const std::vector<TestProtocol>& protocols) {
  std::string out = "Mobility tests (lintel tests show ID for one of them)\n\n";
  for (const TestProtocol& p : protocols) {
    const std::string fills = p.informs.test
                                  ? "model: " + words_of(body::mobility_test_name(*p.informs.test))
                              : p.informs.grip_width ? "setup: grip width"
                                                     : "beside the model";
    out += text("  %-38s %-4s %-42s %s%s\n", p.id.c_str(), unit_name(p.unit).c_str(),
                p.name.c_str(), fills.c_str(), p.built_in ? "" : "  (own)");
  }
  return out + cautions_block();
}

std::string protocol_card_text(const TestProtocol& p) {
  const auto block = [](const std::string& name, const std::string& words) {
    return words.empty() ? std::string()
                         : wrapped(words, text("%-12s", name.c_str()), "            ");
  };
  std::string out = p.name + "  [" + p.id + "]\n\n";
  out += block("Purpose", p.purpose) + block("Position", p.position);
  for (std::size_t i = 0; i < p.steps.size(); ++i) {
    out += block(i == 0 ? "Steps" : "", text("%zu. ", i + 1) + p.steps[i]);
  }
  std::string equipment;
  for (const std::string& e : p.equipment) equipment += (equipment.empty() ? "" : ", ") + e;
  out += block("Needs", equipment);
  out += block(
      "Measure",
      text("in %s, %s, %d %s averaged, about %.0f min, allowed %s to %s", unit_name(p.unit).c_str(),
           p.sides == body::Sides::Each ? "each side" : "without sides", p.tries,
           p.tries == 1 ? "try" : "tries", p.minutes, plain(p.lowest, p.unit).c_str(),
           value_text(p.highest, p.unit).c_str()));
  out += block("Pass line", pass_line_text(p));
  if (p.reach) out += block("", "may be entered as reach / no reach");
  out +=
      block("Error", value_text(p.standard_error.value, p.unit) +
                         text(", mean of %d: ", p.standard_error.tries) + p.standard_error.source);
  if (p.side_difference) {
    out += block("Sides", "usual difference up to " + value_text(p.side_difference->value, p.unit) +
                              ": " + p.side_difference->source);
  }
  for (const body::Norm& n : p.norms) {
    const std::string spread =
        n.standard_deviation > 0 ? ", SD " + plain(n.standard_deviation, p.unit) : "";
    out += block("Norm",
                 value_text(n.mean, p.unit) + spread + ": " + n.population + " (" + n.source + ")");
  }
  out += block(p.norms.empty() ? "Norm" : "", p.norms_note);
  out += block("Squat", p.informs.text + " (" + p.informs.source + ")");
  if (p.photo) {
    out += block("Photo", p.photo->camera + " Error of the method " +
                              value_text(p.photo->standard_error, p.unit) + ": " + p.photo->source +
                              ".");
  }
  if (!p.not_with.empty()) out += block("Not with", signs_text(p.not_with));
  for (const std::string& caution : p.cautions) out += wrapped(caution, "! ", "  ");
  return out + cautions_block();
}

std::string record_outcome_text(const body::TestRecord& record, const body::RecordOutcome& outcome,
                                const std::string& athlete_name) {
  std::string out = athlete_name + ", mobility tests of " + record.date.iso();
  if (!record.tester.empty()) out += ", by " + record.tester;
  out += "\n(mean +/- standard error)\n";
  std::vector<const TestProtocol*> shown;
  for (const TestOutcome& first : outcome.results) {
    if (std::find(shown.begin(), shown.end(), first.protocol) != shown.end()) continue;
    shown.push_back(first.protocol);
    out += heading(first.protocol->name);
    for (const TestOutcome& r : outcome.results) {
      if (r.protocol == first.protocol) out += result_lines(r);
    }
    for (const body::SideComparison& c : outcome.sides) {
      if (c.protocol == first.protocol) out += side_lines(c);
    }
    if (!first.done_against.empty()) {
      out += wrapped("This test is not done with: " + signs_text(first.done_against) +
                         ". A licensed clinician decides whether the result may be used.",
                     "  !! ", "     ");
    }
    out += sources_lines(first);
    for (const std::string& caution : first.protocol->cautions) {
      out += wrapped(caution, "  ! ", "    ");
    }
  }
  if (!outcome.remarks.empty()) out += "\n";
  for (const std::string& remark : outcome.remarks) out += wrapped(remark, "", "  ");
  return out + cautions_block();
}

}  // namespace lintel::app
