#include "app/drill_library.h"

#include "app/text_blocks.h"
#include "app/text_file.h"
#include "base/text.h"
#include "formats/drill_json.h"
#include "formats/located_json.h"
#include "plan/plan.h"
#include "report/sketch.h"

namespace lintel::app {
namespace {

using plan::Drill;

std::string needs_text(const Drill& drill) {
  std::string out;
  for (const plan::EquipmentSet& any : drill.needs) {
    std::string one;
    for (const plan::Equipment e : any.list()) {
      one += (one.empty() ? "" : ", or ") + std::string(plan::equipment_label(e));
    }
    out += (out.empty() ? "" : "; ") + one;
  }
  return out.empty() ? "nothing" : out;
}

std::string targets_text(const Drill& drill) {
  std::string out;
  for (const plan::Target& target : drill.targets) {
    out += (out.empty() ? "" : ", ") + std::string(reasoning::factor_label(target.part));
  }
  return out;
}

std::string gain_text(const plan::Target& target, plan::Mode mode) {
  const plan::Gain& gain = target.gain;
  return text(
             "%s: %.1f degrees a week (spread between people %.1f) at %g min a week%s, for up to "
             "%g weeks. ",
             std::string(reasoning::factor_label(target.part)).c_str(),
             gain.per_week * kDegreesPerRadian, gain.standard_deviation * kDegreesPerRadian,
             gain.reference_time / 60.0, mode == plan::Mode::StaticStretch ? " of one side" : "",
             gain.weeks) +
         "Source: " + gain.source + ".";
}

std::string card(const Drill& drill) {
  std::string out = drill.name + "  (" + drill.id + ")\n";
  out += wrapped(drill.purpose, "", "");
  out += wrapped(targets_text(drill), "Trains: ", "  ");
  out += wrapped(std::string(plan::mode_label(drill.mode)) + (drill.loaded ? ", loaded" : ""),
                 "Kind: ", "  ");
  out += wrapped(needs_text(drill), "Needs: ", "  ");
  for (const plan::Prerequisite& before : drill.prerequisites) {
    out +=
        wrapped(text("step %d of %s", before.step + 1, before.drill.c_str()), "Only after: ", "  ");
  }
  out += "\n" + wrapped(drill.position, "Start: ", "  ");
  for (std::size_t i = 0; i < drill.steps.size(); ++i) {
    out += wrapped(drill.steps[i], text("  %zu. ", i + 1), "     ");
  }
  std::string cues;
  for (const std::string& cue : drill.cues) cues += (cues.empty() ? "" : " / ") + cue;
  out += wrapped(cues, "Cues: ", "  ") + "\nDoses\n";
  for (const plan::Dose& dose : drill.doses) out += "  " + plan::dose_text(dose) + "\n";
  out += wrapped("Source: " + drill.dose_source, "  ", "  ") + "Steps, the easiest first\n";
  for (std::size_t i = 0; i < drill.ladder.size(); ++i) {
    const plan::LadderStep& step = drill.ladder[i];
    out += wrapped(step.name + (step.loaded ? " (loaded)" : "") + ". " + step.how,
                   text("  %zu. ", i + 1), "     ");
    out += wrapped(step.easier, "     Easier: ", "       ");
    out += wrapped(step.harder, "     Harder: ", "       ");
    out += wrapped(step.move_on, "     Move on: ", "       ");
  }
  out += "What to expect\n";
  for (const plan::Target& t : drill.targets)
    out += wrapped(gain_text(t, drill.mode), "  ", "    ");
  out += "Cautions\n";
  for (const std::string& caution : drill.cautions) out += wrapped(caution, "  - ", "    ");
  std::string not_with;
  for (const body::WarningSign sign : drill.not_with) {
    not_with += (not_with.empty() ? "" : ", ") +
                plan::warning_rules()[static_cast<std::size_t>(sign)].label;
  }
  if (drill.loaded) not_with = "any warning sign";
  if (!not_with.empty()) out += wrapped(not_with, "  - Not with: ", "    ");
  return out + wrapped(drill.source, "Source: ", "  ");
}

}  // namespace

DrillText list_drills() {
  DrillText out;
  out.json = formats::write_drill_list_json(formats::built_in_drills());
  for (const Drill& drill : formats::built_in_drills()) {
    out.text += text("%-28s", drill.id.c_str()) + drill.name + (drill.loaded ? " (loaded)" : "") +
                "\n" +
                wrapped(targets_text(drill) + "; needs " + needs_text(drill),
                        "                            ", "                            ");
  }
  out.text += cautions_block();
  return out;
}

Result<const Drill*> drill_named(const std::vector<Drill>& library, const std::string& id) {
  const Drill* drill = plan::find_drill(library, id);
  if (drill != nullptr) return drill;
  std::vector<std::string> ids;
  for (const Drill& d : library) ids.push_back(d.id);
  const std::string_view nearest = formats::nearest_word(id, ids);
  return fail(ErrorCode::NotFound, "there is no drill \"" + id + "\"",
              nearest.empty() ? "list them with: lintel plan drills"
                              : "did you mean \"" + std::string(nearest) + "\"?");
}

Result<std::string> drill_drawing(const std::vector<Drill>& library, const std::string& id) {
  const Drill* drill = LINTEL_TRY(drill_named(library, id));
  return report::draw_sketch_svg(drill->name, drill->drawing);
}

Result<DrillText> show_drill(const std::string& id,
                             const std::optional<std::filesystem::path>& drawing) {
  const Drill* drill = LINTEL_TRY(drill_named(formats::built_in_drills(), id));
  DrillText out{card(*drill) + cautions_block(), formats::write_drill_card_json(*drill)};
  if (drawing) {
    const std::string svg = LINTEL_TRY(drill_drawing(formats::built_in_drills(), id));
    LINTEL_TRY_VOID(write_text_file(*drawing, svg, ExistingFile::Replace));
    out.text += "Drawing: " + drawing->string() + "\n";
  }
  return out;
}

}  // namespace lintel::app
