#include "app/findings_records.h"

#include <span>

#include "app/questions.h"
#include "app/recent_answers.h"
#include "formats/athlete_json.h"
#include "formats/json_defaults.h"
#include "formats/posture_json.h"
#include "secure/sha256.h"

namespace lintel::app {
namespace {

constexpr std::size_t kRemembered = 16;  // some megabytes each: every draw is kept

RecentAnswers<AthleteFindings>& remembered() {
  static RecentAnswers<AthleteFindings> answers(kRemembered);
  return answers;
}

// An assessment stands for all that was seen in its clip; without one only an angle can be.
std::string seen_key(const VisitMaterial& material) {
  const auto& trunk = material.seen.observation.trunk_inclination;
  if (!material.assessment_sha256.empty() || !trunk) return material.assessment_sha256;
  return std::to_string(trunk->value) + "+-" + std::to_string(trunk->standard_error);
}

std::string key_of(const VisitMaterial& material, const FindingsOptions& options) {
  const std::string text = formats::write_athlete_json(material.tested) + seen_key(material) +
                           "\n" + std::to_string(options.draws) + " " +
                           std::to_string(options.seed);
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(text.data());
  return secure::sha256_hex(std::span(bytes, text.size()));
}

std::string id_or_null(const std::string& id) {
  return id.empty() ? "null" : formats::json_text_of(id);
}

}  // namespace

Result<AthleteFindings> remembered_findings(const VisitMaterial& material,
                                            const FindingsOptions& options,
                                            const WorkContext& work) {
  const std::string key = key_of(material, options);
  auto computed = remembered().find(key);
  if (!computed) {
    computed = remembered().keep(
        key, LINTEL_TRY(compute_findings({material.tested, material.seen, {}}, options, work)));
  }
  AthleteFindings found = *computed;
  found.remarks.clear();
  apply_overrulings(material.overrulings, found);
  return found;
}

Result<std::string> findings_of_visit(Practice& practice, const Caller& caller,
                                      std::string_view visit, const VisitFindingsRequest& request,
                                      const WorkContext& work) {
  const VisitMaterial material =
      LINTEL_TRY(gather_visit(practice, caller, Permission::ReadRecords, visit, request.trial));
  FindingsOptions options;
  options.draws = request.draws;
  const AthleteFindings found = LINTEL_TRY(remembered_findings(material, options, work));
  auto members = figure_members(found.explained, found.athlete.setup.disc_diameter);
  members.emplace_back("explanation",
                       formats::write_explanation_json(found.explained, found.athlete.id));
  members.emplace_back("trial", id_or_null(material.trial));
  members.emplace_back("tests", id_or_null(material.tests ? material.tests->id : ""));
  return formats::with_members(findings_json(found), members);
}

}  // namespace lintel::app
