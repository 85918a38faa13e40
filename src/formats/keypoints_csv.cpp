#include <algorithm>
#include <cmath>
#include <string>

#include "formats/csv.h"
#include "formats/keypoints.h"
#include "formats/located_json.h"

namespace lintel::formats {
namespace {

using kinematics::BodyObservation;
using kinematics::ClipObservation;
using kinematics::FrameObservation;
using kinematics::Landmark;
using kinematics::LandmarkObservation;

constexpr int kLandmarks = kinematics::kLandmarkCount;
constexpr double kFarthest_px = 1e5;

enum class Part : std::uint8_t { X, Y, Confidence };
constexpr std::array<const char*, 3> kPartSuffix = {"_x_px", "_y_px", "_confidence"};

struct ColumnMeaning {
  int landmark = -1;  // -1 = frame, -2 = time
  Part part = Part::X;
};

std::vector<std::string> known_columns() {
  std::vector<std::string> names = {"frame", "time_s"};
  for (int l = 0; l < kLandmarks; ++l) {
    for (const char* suffix : kPartSuffix) {
      names.push_back(std::string(kinematics::landmark_name(static_cast<Landmark>(l))) + suffix);
    }
  }
  return names;
}

ColumnMeaning meaning_of(std::size_t known_index) {
  if (known_index == 0) return {-1, Part::X};
  if (known_index == 1) return {-2, Part::X};
  return {static_cast<int>((known_index - 2) / 3), static_cast<Part>((known_index - 2) % 3)};
}

Error fault_at(const CsvCell& cell, std::string field, std::string message, std::string mend = {}) {
  Error error{ErrorCode::Invalid, std::move(message), {}, std::move(mend), {}};
  error.place.line = cell.line;
  error.place.column = cell.column;
  error.place.field = std::move(field);
  return error;
}

class TableReader {
 public:
  explicit TableReader(FaultList& faults) : faults_(faults), known_(known_columns()) {}

  void header(const std::vector<CsvCell>& cells) {
    for (const CsvCell& cell : cells) {
      if (faults_.full()) return;
      const auto found = std::find(known_.begin(), known_.end(), cell.text);
      if (found == known_.end()) {
        const std::string_view nearest = nearest_word(cell.text, known_);
        faults_.add(fault_at(cell, cell.text, "unknown column",
                             nearest.empty() ? "columns are frame, time_s and "
                                               "<landmark>_x_px, _y_px, _confidence"
                                             : "did you mean \"" + std::string(nearest) + "\"?"));
        continue;
      }
      const auto index = static_cast<std::size_t>(found - known_.begin());
      if (seen_[index]) faults_.add(fault_at(cell, cell.text, "the column occurs twice"));
      seen_[index] = true;
      meanings_.push_back(meaning_of(index));
    }
    if (cells.empty()) return;
    for (std::size_t k = 0; k < known_.size(); ++k) {
      const bool is_needed = k < 2 || seen_[2 + (k - 2) / 3 * 3] || seen_[3 + (k - 2) / 3 * 3] ||
                             seen_[4 + (k - 2) / 3 * 3];
      if (is_needed && !seen_[k]) {
        faults_.add(fault_at(cells.front(), known_[k], "the column is missing"));
      }
    }
  }

  void row(const std::vector<CsvCell>& cells, ClipObservation& clip) {
    if (cells.size() != meanings_.size()) {
      faults_.add(fault_at(cells.front(), "",
                           "the row has " + std::to_string(cells.size()) + " cells, the header " +
                               std::to_string(meanings_.size())));
      return;
    }
    FrameObservation frame;
    std::array<std::array<double, 3>, kLandmarks> values;
    for (auto& triple : values) triple = {std::nan(""), std::nan(""), 0.0};
    for (std::size_t c = 0; c < cells.size(); ++c) {
      cell(cells[c], meanings_[c], frame, values);
    }
    check_order(cells.front(), frame, clip);
    fill(values, frame, cells.front());
    clip.frames.push_back(std::move(frame));
  }

 private:
  void cell(const CsvCell& cell, const ColumnMeaning& meaning, FrameObservation& frame,
            std::array<std::array<double, 3>, kLandmarks>& values) {
    if (meaning.landmark == -1) {
      double number = 0;
      if (!parse_number(cell.text, number) || number != std::floor(number) || number < 0 ||
          number > 1e9) {
        faults_.add(fault_at(cell, "frame",
                             "is \"" + shown(cell.text) + "\"; allowed are whole numbers from 0"));
        return;
      }
      frame.index = static_cast<std::int64_t>(number);
      return;
    }
    if (meaning.landmark == -2) {
      number_in(cell, "time_s", 0, 1e6, frame.time);
      return;
    }
    if (cell.text.empty()) return;
    const auto landmark = static_cast<std::size_t>(meaning.landmark);
    const auto part = static_cast<std::size_t>(meaning.part);
    const bool is_confidence = meaning.part == Part::Confidence;
    number_in(cell, known_[2 + landmark * 3 + part], is_confidence ? 0 : -kFarthest_px,
              is_confidence ? 1 : kFarthest_px, values[landmark][part]);
  }

  static std::string shown(const std::string& text) { return text.substr(0, 40); }

  void number_in(const CsvCell& cell, const std::string& field, double low, double high,
                 double& value) {
    double number = 0;
    if (!parse_number(cell.text, number) || number < low || number > high) {
      faults_.add(fault_at(cell, field,
                           "is \"" + shown(cell.text) + "\"; allowed are numbers from " +
                               csv_number(low, 6) + " to " + csv_number(high, 6)));
      return;
    }
    value = number;
  }

  void check_order(const CsvCell& first, const FrameObservation& frame,
                   const ClipObservation& clip) {
    if (clip.frames.empty()) return;
    if (frame.index <= clip.frames.back().index) {
      faults_.add(fault_at(first, "frame", "does not rise from row to row"));
    }
    if (frame.time < clip.frames.back().time) {
      faults_.add(fault_at(first, "time_s", "falls from row to row"));
    }
  }

  void fill(const std::array<std::array<double, 3>, kLandmarks>& values, FrameObservation& frame,
            const CsvCell& first) {
    BodyObservation body;
    bool any = false;
    for (std::size_t l = 0; l < values.size(); ++l) {
      const auto& [x, y, confidence] = values[l];
      if (std::isfinite(x) != std::isfinite(y)) {
        faults_.add(fault_at(first,
                             std::string(kinematics::landmark_name(static_cast<Landmark>(l))),
                             "has only one of x and y"));
      }
      if (!std::isfinite(x) || !std::isfinite(y)) continue;
      LandmarkObservation& landmark = body.landmarks[l];
      landmark.position_px = {static_cast<float>(x), static_cast<float>(y)};
      landmark.regressed_px = landmark.position_px;
      landmark.confidence = static_cast<float>(confidence);
      landmark.visibility = landmark.confidence;
      any = true;
    }
    if (!any) return;
    body.presence = 1;
    frame.body = body;
  }

  FaultList& faults_;
  std::vector<std::string> known_;
  std::array<bool, 2 + 3 * kLandmarks> seen_{};
  std::vector<ColumnMeaning> meanings_;
};

}  // namespace

std::string write_keypoints_csv(const ClipObservation& clip) {
  const auto names = known_columns();
  std::string csv;
  for (const std::string& name : names) csv += (csv.empty() ? "" : ",") + name;
  csv += "\r\n";
  for (const FrameObservation& frame : clip.frames) {
    csv += std::to_string(frame.index) + "," + csv_number(frame.time, 9);
    for (std::size_t l = 0; l < static_cast<std::size_t>(kLandmarks); ++l) {
      const LandmarkObservation* p = frame.body ? &frame.body->landmarks[l] : nullptr;
      const bool seen = p != nullptr && p->confidence > 0 && p->position_px.allFinite();
      if (!seen) {
        csv += ",,,0";
        continue;
      }
      csv += "," + csv_number(p->position_px.x(), 7) + "," + csv_number(p->position_px.y(), 7) +
             "," + csv_number(p->confidence, 5);
    }
    csv += "\r\n";
  }
  return csv;
}

KeypointReading read_keypoints_csv(std::string_view text, std::string_view file_name) {
  FaultList faults;
  ClipObservation clip;
  auto reader = CsvReader::create(text, {});
  if (!reader) {
    faults.add(std::move(reader).error());
  } else {
    TableReader table(faults);
    std::vector<CsvCell> cells;
    bool is_header = true;
    while (!reader->at_end() && !faults.full()) {
      if (auto row = reader->next(cells); !row) {
        faults.add(std::move(row).error());
        break;
      }
      if (is_header) {
        table.header(cells);
        is_header = false;
        if (!faults.empty()) break;  // rows mean nothing without their columns
      } else {
        table.row(cells, clip);
      }
    }
    if (is_header && faults.empty()) {
      faults.add(Error{ErrorCode::Invalid, "the file is empty", {}, {}, {}});
    }
  }
  KeypointReading reading;
  if (faults.empty()) reading.clip = std::move(clip);
  reading.faults = faults.take();
  for (Error& error : reading.faults) error.with_file(file_name);
  return reading;
}

}  // namespace lintel::formats
