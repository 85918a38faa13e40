#include "formats/protocol_json.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

#include "base/embedded_file.h"
#include "body/tables.h"
#include "formats/field_reader.h"
#include "formats/protocol_words.h"
#include "formats/sketch_json.h"
#include "kinematics/photo_measure.h"

namespace lintel::embedded {
std::span<const EmbeddedFile> protocol_files();
}  // namespace lintel::embedded

namespace lintel::formats {
namespace {

using body::PhotoAxis;
using body::PhotoLine;
using body::PhotoMeasure;
using body::PhotoRecipe;
using body::TestProtocol;

constexpr std::size_t kLongestWord = 60;
constexpr std::size_t kLongestText = 600;

bool is_identifier(std::string_view id) {
  return !id.empty() && id.front() >= 'a' && id.front() <= 'z' &&
         std::all_of(id.begin(), id.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_';
         });
}

class ProtocolReader {
 public:
  ProtocolReader(FaultList& faults) : read_(faults), faults_(faults) {}

  TestProtocol read(const JsonValue& root, std::optional<Sketch>& drawing) {
    if (!read_.is_kind(root, "the file", JsonKind::Object)) return {};
    read_.check_keys(root, "", {"schema",         "id",
                                "name",           "purpose",
                                "position",       "steps",
                                "equipment",      "unit",
                                "sides",          "better",
                                "tries",          "minutes",
                                "allowed_range",  "pass_line",
                                "norms_note",     "norms",
                                "standard_error", "side_difference",
                                "reach",          "informs",
                                "cautions",       "not_with",
                                "photo",          "drawing"});
    read_.check_schema(root, "lintel-protocol-1");
    read_.check_plain(root);
    read_texts(root);
    read_kind(root);
    read_range(root);
    read_pass_line(root);
    read_norms(root);
    read_error(root);
    read_side_difference(root);
    read_reach(root);
    read_informs(root);
    read_photo(root);
    drawing = read_drawing(root, read_, "draw the test");
    if (drawing) out_.sketch = *drawing;
    if (faults_.empty()) check_together(root);
    return std::move(out_);
  }

 private:
  void read_texts(const JsonValue& root) {
    out_.id = read_.text(root, "", "id", Presence::Required, kLongestWord);
    if (!out_.id.empty() && !is_identifier(out_.id)) {
      faults_.add(*root.find("id"), "id", "is \"" + out_.id + "\"",
                  "use lower case letters, digits and underscores, a letter first");
    }
    out_.name = read_.text(root, "", "name", Presence::Required, kLongestWord);
    out_.purpose = read_.text(root, "", "purpose", Presence::Required, kLongestText);
    out_.position = read_.text(root, "", "position", Presence::Required, kLongestText);
    out_.steps = read_.texts(root, "", "steps", 1, kLongestText);
    out_.equipment = read_.texts(root, "", "equipment", 0, kLongestText);
    out_.cautions = read_.texts(root, "", "cautions", 1, kLongestText);
    out_.norms_note = read_.text(root, "", "norms_note", Presence::Optional, kLongestText);
    const JsonValue* signs =
        read_.member(root, "", "not_with", JsonKind::Array, Presence::Required,
                     "list the warning signs under which the test is not done; [] = none");
    if (signs == nullptr) return;
    for (std::size_t i = 0; i < std::min<std::size_t>(signs->items.size(), 40); ++i) {
      const auto sign = read_.word_of(signs->items[i], "not_with[" + std::to_string(i) + "]",
                                      words::warning_signs());
      if (sign) out_.not_with.push_back(static_cast<body::WarningSign>(*sign));
    }
  }

  void read_kind(const JsonValue& root) {
    if (const auto unit = read_.word(root, "", "unit", Presence::Required, words::units())) {
      out_.unit = static_cast<body::ProtocolUnit>(*unit);
    }
    if (const auto sides = read_.word(root, "", "sides", Presence::Required, words::sides())) {
      out_.sides = static_cast<body::Sides>(*sides);
    }
    if (const auto better = read_.word(root, "", "better", Presence::Required, words::better())) {
      out_.better = static_cast<body::Better>(*better);
    }
    out_.tries = read_.whole_number(root, "", "tries", Presence::Required, 1, 10).value_or(1);
    out_.minutes =
        read_.number(root, "", "minutes", Presence::Required, {0.5, 60, "min"}).value_or(1.0);
    si_ = body::si_per_unit(out_.unit);
    unit_ = std::string(body::protocol_unit_name(out_.unit));
  }

  NumberRule any() const { return {-10000, 10000, unit_}; }
  NumberRule positive() const { return {1e-6, 10000, unit_}; }

  std::string source(const JsonValue& object, const std::string& path) {
    const std::string text = read_.text(object, path, "source", Presence::Required, kLongestText);
    if (!text.empty() && !names_a_source(text)) {
      faults_.add(*object.find("source"), path + "source", "names neither a year nor its absence",
                  "cite author and year, or write \"common practice, no source\" or "
                  "\"from memory\"");
    }
    return text;
  }

  void read_range(const JsonValue& root) {
    const JsonValue* range = read_.member(root, "", "allowed_range", JsonKind::Object,
                                          Presence::Required, "{\"low\": .., \"high\": ..}");
    if (range == nullptr) return;
    read_.check_keys(*range, "allowed_range.", {"low", "high"});
    const auto low = read_.number(*range, "allowed_range.", "low", Presence::Required, any());
    const auto high = read_.number(*range, "allowed_range.", "high", Presence::Required, any());
    if (!low || !high) return;
    if (!(*low < *high)) {
      faults_.add(*range, "allowed_range", "is empty: low is not below high");
    }
    out_.lowest = *low * si_;
    out_.highest = *high * si_;
  }

  void read_pass_line(const JsonValue& root) {
    const JsonValue* line =
        read_.member(root, "", "pass_line", JsonKind::Object, Presence::Optional);
    if (line == nullptr) return;
    read_.check_keys(*line, "pass_line.", {"relative_to", "value", "label", "source"});
    body::PassLine pass;
    const auto relative = read_.word(*line, "pass_line.", "relative_to", Presence::Required,
                                     words::pass_references());
    if (relative) pass.relative_to = static_cast<body::PassReference>(*relative);
    const bool absolute = pass.relative_to == body::PassReference::Absolute;
    const auto value = read_.number(*line, "pass_line.", "value", Presence::Required,
                                    absolute ? any() : NumberRule{0.01, 100, "times"});
    pass.value = value.value_or(0.0) * (absolute ? si_ : 1.0);
    pass.label = read_.text(*line, "pass_line.", "label", Presence::Required, kLongestWord);
    pass.source = source(*line, "pass_line.");
    out_.pass_line = pass;
  }

  void read_norms(const JsonValue& root) {
    const JsonValue* norms = read_.member(root, "", "norms", JsonKind::Array, Presence::Required,
                                          "give published norms, or [] and a norms_note");
    if (norms == nullptr) return;
    if (norms->items.empty() && out_.norms_note.empty()) {
      faults_.add(*norms, "norms", "is empty and no norms_note says why",
                  "add \"norms_note\": \"...\"");
    }
    for (std::size_t i = 0; i < std::min<std::size_t>(norms->items.size(), 20); ++i) {
      const std::string field = "norms[" + std::to_string(i) + "]";
      const JsonValue& item = norms->items[i];
      if (!read_.is_kind(item, field, JsonKind::Object)) continue;
      const std::string path = field + ".";
      read_.check_keys(item, path, {"population", "mean", "standard_deviation", "source"});
      body::Norm norm;
      norm.population = read_.text(item, path, "population", Presence::Required, kLongestText);
      norm.mean = si_ * read_.number(item, path, "mean", Presence::Required, any()).value_or(0);
      norm.standard_deviation =
          si_ * read_.number(item, path, "standard_deviation", Presence::Optional, positive())
                    .value_or(0);
      norm.source = source(item, path);
      out_.norms.push_back(norm);
    }
  }

  void read_error(const JsonValue& root) {
    const JsonValue* error =
        read_.member(root, "", "standard_error", JsonKind::Object, Presence::Required,
                     "{\"value\": .., \"tries\": .., \"source\": \"..\"}");
    if (error == nullptr) return;
    const std::string path = "standard_error.";
    read_.check_keys(*error, path, {"value", "tries", "share_between_tries", "source"});
    out_.standard_error.value =
        si_ * read_.number(*error, path, "value", Presence::Required, positive()).value_or(0);
    out_.standard_error.tries =
        read_.whole_number(*error, path, "tries", Presence::Required, 1, 10).value_or(1);
    out_.standard_error.share_between_tries =
        read_.number(*error, path, "share_between_tries", Presence::Optional, {0, 1})
            .value_or(body::test_table().value("share_between_tries"));
    out_.standard_error.source = source(*error, path);
  }

  void read_side_difference(const JsonValue& root) {
    const JsonValue* usual =
        read_.member(root, "", "side_difference", JsonKind::Object, Presence::Optional);
    if (usual == nullptr) return;
    const std::string path = "side_difference.";
    read_.check_keys(*usual, path, {"value", "source"});
    body::SideDifference difference;
    difference.value =
        si_ * read_.number(*usual, path, "value", Presence::Required, positive()).value_or(0);
    difference.source = source(*usual, path);
    out_.side_difference = difference;
    if (out_.sides == body::Sides::None) {
      faults_.add(*usual, "side_difference", "is given for a test without sides", "leave it out");
    }
  }

  void read_reach(const JsonValue& root) {
    const JsonValue* reach = read_.member(root, "", "reach", JsonKind::Object, Presence::Optional);
    if (reach == nullptr) return;
    read_.check_keys(*reach, "reach.", {"mean", "spread", "source"});
    body::ReachPrior prior;
    prior.mean =
        si_ * read_.number(*reach, "reach.", "mean", Presence::Required, any()).value_or(0);
    prior.spread =
        si_ * read_.number(*reach, "reach.", "spread", Presence::Required, positive()).value_or(1);
    prior.source = source(*reach, "reach.");
    out_.reach = prior;
    if (!out_.pass_line || out_.better == body::Better::Neither) {
      faults_.add(*reach, "reach", "needs a pass_line and a better direction",
                  "add them, or leave reach out");
    }
  }

  void read_informs(const JsonValue& root) {
    const JsonValue* value =
        read_.member(root, "", "informs", JsonKind::Object, Presence::Required,
                     "say what the test means for the squat, with a text and a source");
    if (value == nullptr) return;
    const std::string path = "informs.";
    read_.check_keys(*value, path, {"test", "grip_width", "factor", "offset", "text", "source"});
    body::Informs& informs = out_.informs;
    if (const auto test = read_.word(*value, path, "test", Presence::Optional, words::tests())) {
      informs.test = static_cast<body::MobilityTest>(*test);
    }
    informs.grip_width =
        read_.boolean(*value, path, "grip_width", Presence::Optional).value_or(false);
    informs.factor =
        read_.number(*value, path, "factor", Presence::Optional, {-10, 10}).value_or(1.0);
    informs.offset =
        si_ * read_.number(*value, path, "offset", Presence::Optional, any()).value_or(0.0);
    informs.text = read_.text(*value, path, "text", Presence::Required, kLongestText);
    informs.source = source(*value, path);
  }

  // "up", "down", "horizontal", or ["knee", "ankle"].
  void read_line(const JsonValue& photo, const std::string& key, PhotoLine& line) {
    const JsonValue* value = photo.find(key);
    const std::string field = "photo." + key;
    if (value == nullptr) {
      faults_.add(photo, field, "is missing", "write [\"knee\", \"ankle\"] or \"up\"");
      return;
    }
    if (value->kind == JsonKind::String) {
      if (const auto axis = read_.word_of(*value, field, words::axes())) {
        line.axis = static_cast<PhotoAxis>(*axis);
      }
      return;
    }
    if (!read_.is_kind(*value, field, JsonKind::Array)) return;
    if (value->items.size() != 2) {
      faults_.add(*value, field, "must name two points");
      return;
    }
    line.from = point(value->items[0], field + "[0]");
    line.to = point(value->items[1], field + "[1]");
  }

  std::string point(const JsonValue& value, const std::string& field) {
    std::vector<std::string> known = kinematics::photo_point_names();
    known.insert(known.end(), out_.photo->by_hand.begin(), out_.photo->by_hand.end());
    const auto index = read_.word_of(value, field, known);
    return index ? known[*index] : "";
  }

  void read_photo(const JsonValue& root) {
    const JsonValue* value = read_.member(root, "", "photo", JsonKind::Object, Presence::Optional);
    if (value == nullptr) return;
    const std::string path = "photo.";
    read_.check_keys(*value, path,
                     {"view", "camera", "measure", "first", "second", "positive_towards", "by_hand",
                      "factor", "offset", "standard_error", "source"});
    PhotoRecipe& photo = out_.photo.emplace();
    if (const auto view = read_.word(*value, path, "view", Presence::Required, words::views())) {
      photo.view = static_cast<SketchView>(*view);
    }
    photo.camera = read_.text(*value, path, "camera", Presence::Required, kLongestText);
    if (const auto m = read_.word(*value, path, "measure", Presence::Required, words::measures())) {
      photo.measure = static_cast<PhotoMeasure>(*m);
    }
    photo.by_hand = read_.texts(*value, path, "by_hand", 0, kLongestWord);
    read_line(*value, "first", photo.first);
    read_line(*value, "second", photo.second);
    if (const JsonValue* side = value->find("positive_towards")) {
      photo.positive_towards = point(*side, "photo.positive_towards");
    }
    photo.factor = read_.number(*value, path, "factor", Presence::Optional, {-10, 10}).value_or(1);
    photo.offset =
        si_ * read_.number(*value, path, "offset", Presence::Optional, any()).value_or(0);
    photo.standard_error =
        si_ *
        read_.number(*value, path, "standard_error", Presence::Required, positive()).value_or(0);
    photo.source = source(*value, path);
    check_photo(*value, photo);
  }

  void check_photo(const JsonValue& at, const PhotoRecipe& photo) {
    const bool distance = photo.measure == PhotoMeasure::Distance;
    if (distance != (out_.unit == body::ProtocolUnit::Centimetres)) {
      faults_.add(at, "photo.measure", "does not fit the unit " + unit_,
                  "\"distance\" gives cm, the others give deg");
    }
    if (photo.first.axis == PhotoAxis::Free && photo.first.from.empty()) {
      faults_.add(at, "photo.first", "must name two points");
    }
    if (distance && photo.first.axis != PhotoAxis::Free) {
      faults_.add(at, "photo.first", "must name the two ends of the distance");
    }
    if (distance != (photo.second.axis == PhotoAxis::Free && photo.second.from.empty()) &&
        !(distance && photo.second.from.empty())) {
      faults_.add(at, "photo.second",
                  distance ? "of a distance is a direction: \"horizontal\", \"up\" or \"free\""
                           : "must name two points or \"up\", \"down\", \"horizontal\"");
    }
    if (!distance && photo.first.axis != PhotoAxis::Free && photo.second.axis != PhotoAxis::Free) {
      faults_.add(at, "photo.first", "two axes of the picture make no angle",
                  "name two points for one of the lines");
    }
    if ((photo.measure == PhotoMeasure::Turn) == photo.positive_towards.empty()) {
      faults_.add(at, "photo.positive_towards",
                  photo.positive_towards.empty() ? "is missing" : "has no use here",
                  "\"turn\" needs it, the others do not");
    }
  }

  // A factor turns degrees into degrees; between distance and angle stands a body.
  void check_together(const JsonValue& root) {
    const JsonValue& informs = *root.find("informs");
    if (out_.informs.grip_width && out_.unit != body::ProtocolUnit::Centimetres) {
      faults_.add(informs, "informs.grip_width", "needs a result in cm");
    }
    if (!out_.informs.test) return;
    const body::Number& range = body::range_table()[body::mobility_range_key(*out_.informs.test)];
    const bool length = *out_.informs.test == body::MobilityTest::KneeToWall;
    const auto needed = length ? body::ProtocolUnit::Centimetres : body::ProtocolUnit::Degrees;
    if (out_.unit != needed) {
      faults_.add(informs, "informs.test",
                  "is measured in " + std::string(body::protocol_unit_name(needed)) +
                      ", this protocol in " + unit_,
                  "distance and angle are converted by the athlete's own segments only: fill the "
                  "test of the same unit");
      return;
    }
    if (out_.informs.factor == 0.0) {
      faults_.add(informs, "informs.factor", "is 0: the result would not matter");
    }
    for (const double end : {out_.lowest, out_.highest}) {
      const double value = out_.informs.offset + out_.informs.factor * end;
      if (value >= range.low - 1e-6 && value <= range.high + 1e-6) continue;
      faults_.add(*root.find("allowed_range"), "allowed_range",
                  "reaches " + short_number(value / si_) + " " + unit_ + " of the model's test; " +
                      short_number(range.low / si_) + " to " + short_number(range.high / si_) +
                      " are allowed there");
    }
  }

  FieldReader read_;
  FaultList& faults_;
  TestProtocol out_;
  double si_ = 1.0;
  std::string unit_;
};

}  // namespace

ProtocolReading read_protocol_json(std::string_view text, std::string_view file_name) {
  ProtocolReading reading;
  FaultList faults;
  auto root = parse_json(text, {std::size_t{256} << 10, 12, 20000});
  if (!root) {
    faults.add(std::move(root).error());
  } else {
    TestProtocol protocol = ProtocolReader(faults).read(*root, reading.drawing);
    reading.name = protocol.name;
    if (faults.empty()) reading.protocol = std::move(protocol);
  }
  reading.faults = sorted_faults(faults, file_name);
  return reading;
}

const std::vector<body::TestProtocol>& built_in_protocols() {
  static const std::vector<TestProtocol> kProtocols = [] {
    std::vector<TestProtocol> protocols;
    for (const EmbeddedFile& file : embedded::protocol_files()) {
      auto reading = read_protocol_json(*file.text, file.name);
      LINTEL_CHECK(reading.protocol.has_value());
      protocols.push_back(*std::move(reading.protocol));
    }
    // What fills the model first, in the order of its tests; then by id.
    std::stable_sort(protocols.begin(), protocols.end(), [](const auto& a, const auto& b) {
      const auto rank = [](const TestProtocol& p) {
        return p.informs.test ? static_cast<int>(*p.informs.test) : body::kMobilityTestCount;
      };
      return std::pair(rank(a), a.id) < std::pair(rank(b), b.id);
    });
    return protocols;
  }();
  return kProtocols;
}

}  // namespace lintel::formats
