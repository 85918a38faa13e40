#include "app/summary.h"

#include <cmath>
#include <cstdio>

#include "base/cautions.h"
#include "base/text.h"

namespace lintel::app {
namespace {

using kinematics::Channel;

std::string degrees(const Estimate& angle) {
  if (!std::isfinite(angle.value)) return "not seen";
  if (!std::isfinite(angle.standard_error)) return text("%.0f", angle.value * kDegreesPerRadian);
  return text("%.0f +/- %.0f", angle.value * kDegreesPerRadian,
              angle.standard_error * kDegreesPerRadian);
}

std::string centimetres(const Estimate& length) {
  if (!std::isfinite(length.value)) return "not seen";
  return text("%.1f +/- %.1f cm", 100 * length.value, 100 * length.standard_error);
}

void add_repetitions(const kinematics::Measurement& m, std::string& out) {
  out += text("Repetitions: %zu\n", m.repetitions.size());
  if (m.repetitions.empty()) return;
  out += "  at the bottom, degrees from vertical (trunk, shank) or from straight (knee, hip)\n";
  out += text("  %-4s %-12s %-12s %-12s %-12s %-18s %s\n", "", "trunk", "shank", "knee", "hip",
              "hip below knee", "down / up");
  for (std::size_t r = 0; r < m.repetitions.size(); ++r) {
    const kinematics::Repetition& rep = m.repetitions[r];
    const auto bottom = [&](Channel c) { return rep.channels[static_cast<std::size_t>(c)].bottom; };
    const char* outcome = rep.outcome == kinematics::RepetitionOutcome::Completed ? ""
                          : rep.outcome == kinematics::RepetitionOutcome::Failed ? "  not completed"
                                                                                 : "  cut off";
    out += text("  %-4zu %-12s %-12s %-12s %-12s %-18s %.1f / %.1f s%s\n", r + 1,
                degrees(bottom(Channel::TrunkInclination)).c_str(),
                degrees(bottom(Channel::ShankInclination)).c_str(),
                degrees(bottom(Channel::KneeFlexion)).c_str(),
                degrees(bottom(Channel::HipFlexion)).c_str(),
                centimetres(bottom(Channel::Depth)).c_str(), rep.descent_duration,
                rep.ascent_duration, outcome);
  }
}

void add_front(const kinematics::FrontMeasurement& front, std::string& out) {
  out += "Front view\n";
  out += "  stance " + centimetres(front.stance_width) + ", grip " + centimetres(front.grip_width) +
         "\n";
  out += "  toes out, degrees: left " + degrees(front.toe_out[0]) + ", right " +
         degrees(front.toe_out[1]) + "\n";
  out += "  knee outside the line hip - ankle at the bottom: left " +
         centimetres(front.knee_line_bottom[0]) + ", right " +
         centimetres(front.knee_line_bottom[1]) + "\n";
  out += "  hips to the athlete's right at the bottom: " + centimetres(front.hip_shift_bottom) +
         "; bar tilt, degrees: " + degrees(front.bar_tilt_bottom) + "\n";
}

void add_explanation(const view::Explanation& e, std::string& out) {
  out += "What explains the lean\n";
  if (e.observed_inclination) {
    out += "  trunk seen: " + degrees(*e.observed_inclination) + " degrees";
    if (e.most_upright) out += "; most upright that the body allows: " + degrees(*e.most_upright);
    out += "\n";
  }
  for (const view::ExplanationPart& part : e.parts) {
    out +=
        text("  %-28s %+5.1f degrees  (95 %%: %+.1f to %+.1f; largest with probability %.0f %%)\n",
             part.label.c_str(), part.share * kDegreesPerRadian, part.low * kDegreesPerRadian,
             part.high * kDegreesPerRadian, 100 * part.probability_largest);
  }
  if (!e.cannot_tell.empty()) out += "  " + e.cannot_tell + "\n";
  for (const std::string& sentence : e.sentences) out += "  " + sentence + "\n";
  for (const std::string& test : e.missing_tests) out += "  a test that would help: " + test + "\n";
  for (const view::NextStep& step : e.next_steps) {
    out += "  try next: " + step.title;
    if (step.less_lean) {
      out += text(" (%.0f degrees more upright)", step.less_lean->value * kDegreesPerRadian);
    }
    out += "\n";
  }
}

}  // namespace

std::string summarize(const view::Assessment& a, const std::vector<kinematics::Warning>& warnings) {
  std::string out;
  out += a.athlete_name.empty() ? std::string("Assessment") : a.athlete_name;
  out += ", " + a.assessed_on + ", " + a.clip.file_name + "\n";
  if (a.side != nullptr) {
    const kinematics::CameraCheck& camera = a.side->camera;
    out += "Side view, camera turned " + degrees(camera.yaw) + " degrees";
    out += camera.scale_source == kinematics::ScaleSource::Disc ? ", scale from the disc\n"
                                                                : ", scale from the stature\n";
    add_repetitions(*a.side, out);
  }
  if (a.front != nullptr) add_front(*a.front, out);
  if (a.explanation) add_explanation(*a.explanation, out);
  for (const kinematics::Warning& warning : warnings) {
    out += "Note: " + warning.message + (warning.advice.empty() ? "" : " " + warning.advice) + "\n";
  }
  out += "\n" + cautions_text();
  return out;
}

}  // namespace lintel::app
