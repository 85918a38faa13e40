#include "formats/assessment_facts.h"

#include "formats/located_json.h"

namespace lintel::formats {
namespace {

constexpr double kPerCentimetre = 0.01;

tl::unexpected<Error> fault(const JsonValue& at, std::string field, std::string message,
                            std::string mend) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.field = std::move(field);
  error.place.line = at.line;
  error.place.column = at.column;
  return fail(std::move(error));
}

const JsonValue* find_path(const JsonValue& root, std::initializer_list<std::string_view> keys) {
  const JsonValue* at = &root;
  for (const std::string_view key : keys) {
    if (at == nullptr) return nullptr;
    at = at->find(key);
  }
  return at;
}

std::string text_at(const JsonValue& root, std::initializer_list<std::string_view> keys) {
  const JsonValue* value = find_path(root, keys);
  return value != nullptr && value->kind == JsonKind::String ? value->text : std::string();
}

// {"value", "standard_error"} as SI; nothing unless both are there.
Result<std::optional<Estimate>> read_estimate(const JsonValue* object, double unit,
                                              const std::string& field) {
  if (object == nullptr || object->kind == JsonKind::Null) return std::nullopt;
  std::array<double, 2> numbers{};
  const std::array<std::string_view, 2> keys = {"value", "standard_error"};
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const JsonValue* value = object->find(keys[i]);
    if (value == nullptr || value->kind == JsonKind::Null) return std::nullopt;
    if (value->kind != JsonKind::Number || (i == 1 && value->number < 0.0)) {
      return fault(*value, field + "." + std::string(keys[i]), "is not such a number",
                   "give the assessment.json as it was written");
    }
    numbers[i] = value->number * unit;
  }
  return Estimate{numbers[0], numbers[1]};
}

Result<AssessedRepetition> read_repetition(const JsonValue& repetition, std::size_t index) {
  const std::string field = "repetitions[" + std::to_string(index) + "]";
  AssessedRepetition out;
  out.number = static_cast<int>(index) + 1;
  for (std::size_t c = 0; c < out.bottom.size(); ++c) {
    const auto& info = kinematics::channel_info(static_cast<kinematics::Channel>(c));
    const bool is_angle = info.unit == kinematics::ChannelUnit::Radian;
    const std::string key = std::string(info.name) + (is_angle ? "_deg" : "_cm");
    out.bottom[c] = LINTEL_TRY(read_estimate(find_path(repetition, {"channels", key, "bottom"}),
                                             is_angle ? kRadiansPerDegree : kPerCentimetre,
                                             field + ".channels." + key + ".bottom"));
  }
  out.shoulder_change_given =
      LINTEL_TRY(read_estimate(repetition.find("shoulder_change_given_deg"), kRadiansPerDegree,
                               field + ".shoulder_change_given_deg"));
  return out;
}

Result<AssessmentFacts> read_facts(const JsonValue& root) {
  if (text_at(root, {"schema"}) != "lintel-assessment-1") {
    return fault(root, "schema", "this is not an assessment (schema \"lintel-assessment-1\")",
                 "give the assessment.json of a results folder");
  }
  AssessmentFacts facts;
  facts.athlete_id = text_at(root, {"athlete", "id"});
  facts.assessed_on = text_at(root, {"assessed_on"});
  facts.recorded_on = text_at(root, {"clip", "recorded_on"});
  facts.clip = text_at(root, {"clip", "file_name"});
  facts.clip_sha256 = text_at(root, {"clip", "sha256"});
  facts.program_version = text_at(root, {"program", "version"});
  const JsonValue* repetitions = root.find("repetitions");
  if (repetitions == nullptr) return facts;
  for (std::size_t i = 0; i < repetitions->items.size(); ++i) {
    if (text_at(repetitions->items[i], {"outcome"}) != "completed") continue;
    facts.repetitions.push_back(LINTEL_TRY(read_repetition(repetitions->items[i], i)));
  }
  return facts;
}

}  // namespace

Result<AssessmentFacts> read_assessment_facts(std::string_view text, std::string_view file_name) {
  JsonLimits limits;
  limits.bytes = std::size_t{16} << 20;
  auto root = parse_json(text, limits);
  if (!root) return fail(std::move(root.error().with_file(file_name)));
  auto facts = read_facts(*root);
  if (!facts) return fail(std::move(facts.error().with_file(file_name)));
  return facts;
}

}  // namespace lintel::formats
