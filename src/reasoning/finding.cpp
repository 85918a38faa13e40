// Words, the practitioner's last word, and what is left to work on.
#include "reasoning/finding.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/text.h"
#include "reasoning/defaults.h"
#include "reasoning/finding_parts.h"
#include "reasoning/test_limits.h"

namespace lintel::reasoning {
namespace {

double threshold(std::string_view key) {
  return default_table().value(std::string(key));
}

bool is_target_kind(FindingKind kind) {
  return kind == FindingKind::Range || kind == FindingKind::Setup || kind == FindingKind::Habit ||
         kind == FindingKind::ArmsOverhead;
}

// What a finding is worth in the order of work [rad].
double expected_degrees(const Target& t) {
  return t.probability * std::max(0.0, t.size.value);
}

}  // namespace

Confidence confidence_of(double probability) {
  if (probability >= threshold("explain.clear")) return Confidence::Clear;
  if (probability >= threshold("explain.likely")) return Confidence::Likely;
  if (probability >= threshold("explain.possible")) return Confidence::Possible;
  return Confidence::Unlikely;
}

std::string_view confidence_word(Confidence confidence) {
  static constexpr std::array<std::string_view, 4> kWords = {"clear", "likely", "possible",
                                                             "unlikely"};
  return kWords[static_cast<std::size_t>(confidence)];
}

std::string confidence_explanation() {
  const auto percent = [](std::string_view key) { return 100.0 * threshold(key); };
  return text(
      "How sure: clear = probability of %.0f %% or more, likely = %.0f %% or more, possible = "
      "%.0f %% or more, unlikely = less. The probability counts the errors of the tests, of the "
      "camera and of the body sizes; it does not count what the model leaves out.",
      percent("explain.clear"), percent("explain.likely"), percent("explain.possible"));
}

std::string_view evidence_source_name(EvidenceSource source) {
  static constexpr std::array<std::string_view, 4> kNames = {"video", "test", "setup", "model"};
  return kNames[static_cast<std::size_t>(source)];
}

std::string_view bearing_name(Bearing bearing) {
  return bearing == Bearing::Supports ? "supports" : "contradicts";
}

std::string_view finding_kind_name(FindingKind kind) {
  static constexpr std::array<std::string_view, 9> kNames = {"range",
                                                             "setup",
                                                             "habit",
                                                             "side",
                                                             "arms_overhead",
                                                             "untested",
                                                             "tests_against_posture",
                                                             "tests_exclude_posture",
                                                             "nothing"};
  return kNames[static_cast<std::size_t>(kind)];
}

std::string_view finding_status_name(FindingStatus status) {
  static constexpr std::array<std::string_view, 3> kNames = {"standing", "conflict", "overruled"};
  return kNames[static_cast<std::size_t>(status)];
}

std::string_view size_of_name(SizeOf size_of) {
  static constexpr std::array<std::string_view, 3> kNames = {"lean", "range_difference",
                                                             "arm_angle"};
  return kNames[static_cast<std::size_t>(size_of)];
}

std::string_view verdict_name(Verdict verdict) {
  static constexpr std::array<std::string_view, 3> kNames = {"rejected", "asserted", "withdrawn"};
  return kNames[static_cast<std::size_t>(verdict)];
}

double Finding::effective_probability() const {
  if (!overruling) return probability;
  return overruling->verdict == Verdict::Asserted ? 1.0 : 0.0;
}

std::optional<Size> Finding::effective_size() const {
  if (!overruling) return size;
  if (overruling->verdict == Verdict::Rejected) return std::nullopt;
  if (overruling->size) return Size{*overruling->size, *overruling->size, *overruling->size};
  return size;
}

FindingStatus Finding::status() const {
  if (overruling) return FindingStatus::Overruled;
  return conflict.empty() ? FindingStatus::Standing : FindingStatus::Conflict;
}

std::vector<std::string> finding_ids() {
  std::vector<std::string> ids = {"tests_against_posture", "tests_exclude_posture", "arms_overhead",
                                  "nothing"};
  for (int i = 0; i < kFactorCount; ++i) {
    ids.emplace_back(factor_name(static_cast<Factor>(i)));
  }
  for (const TestOfLimit& test : tests_of_limits()) {
    if (auto id = side_finding_id(test)) ids.push_back(std::move(*id));
  }
  return ids;
}

const Finding* Findings::find(std::string_view id) const {
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Finding& f) { return f.id == id; });
  return found == all.end() ? nullptr : &*found;
}

void overrule(Findings& findings, std::span<const Overruling> overrulings) {
  std::vector<Overruling> in_time(overrulings.begin(), overrulings.end());
  std::stable_sort(in_time.begin(), in_time.end(),
                   [](const Overruling& a, const Overruling& b) { return a.date < b.date; });
  for (const Overruling& o : in_time) {
    const auto found = std::find_if(findings.all.begin(), findings.all.end(),
                                    [&](const Finding& f) { return f.id == o.finding; });
    if (found == findings.all.end()) {
      findings.unmatched.push_back(o);
      continue;
    }
    if (found->overruling) found->earlier_overrulings.push_back(*found->overruling);
    found->overruling.reset();
    if (o.verdict == Verdict::Withdrawn) {
      found->earlier_overrulings.push_back(o);
    } else {
      found->overruling = o;
    }
  }
}

std::vector<Target> targets_from_findings(const Findings& findings) {
  std::vector<Target> targets;
  for (const Finding& f : findings.all) {
    const bool asserted = f.overruling && f.overruling->verdict == Verdict::Asserted;
    const bool counts = is_target_kind(f.kind) || (f.kind == FindingKind::Untested && asserted);
    const auto size = f.effective_size();
    if (!counts || !f.part || !size || size->value <= 0.0) continue;
    if (!asserted && size->value < threshold("finding.least_part")) continue;
    const double probability = f.effective_probability();
    if (confidence_of(probability) == Confidence::Unlikely) continue;
    targets.push_back({f.id, *f.part, std::nullopt, *size, probability});
  }
  for (const Finding& f : findings.all) {
    if (f.kind != FindingKind::Side || f.effective_probability() <= 0.0) continue;
    for (Target& t : targets) {
      if (t.part == f.part) t.side = f.side;
    }
  }
  std::stable_sort(targets.begin(), targets.end(), [](const Target& a, const Target& b) {
    if (is_lever(a.part) != is_lever(b.part)) return is_lever(a.part);
    return expected_degrees(a) > expected_degrees(b);
  });
  return targets;
}

}  // namespace lintel::reasoning
