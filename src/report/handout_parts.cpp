#include "report/handout_parts.h"

#include <algorithm>
#include <cmath>

#include "report/blocks.h"
#include "report/sketch.h"

namespace lintel::report::handout {
namespace {

constexpr double kNumber = 20;         // side of the square with the drill's number
constexpr double kSketchShare = 0.47;  // of the width
constexpr double kMostSketch = 290;    // height
constexpr double kLeastSketch = 120;
constexpr double kColumnGap = 16;

void draw_number(Canvas& canvas, const Box& box, int number) {
  canvas.rectangle(box, 2);
  canvas.fill(kHarbour);
  TextStyle style{0.62 * box.height, Weight::Bold, kPaper, Align::Center, 0, 0, 0};
  const std::string text = std::to_string(number);
  const double height = canvas.measure(text, style).height;
  canvas.text({box.x + box.width / 2, box.y + (box.height - height) / 2}, text, style);
}

// The days on which there is a session of shown drills in the first full week.
std::vector<const plan::PlannedSession*> sessions_of(const plan::PlannedWeek& week,
                                                     std::span<const ShownDrill> drills) {
  std::vector<const plan::PlannedSession*> sessions;
  for (const plan::PlannedSession& session : week.sessions) {
    const bool any = std::any_of(session.items.begin(), session.items.end(), [&](const auto& item) {
      return std::any_of(drills.begin(), drills.end(),
                         [&](const ShownDrill& d) { return d.index == item.drill; });
    });
    if (any) sessions.push_back(&session);
  }
  return sessions;
}

const plan::PlannedWeek* usual_week(const plan::Plan& plan) {
  for (const plan::PlannedWeek& week : plan.schedule) {
    if (!week.deload) return &week;
  }
  return plan.schedule.empty() ? nullptr : &plan.schedule.front();
}

const plan::SessionItem* item_on(const plan::PlannedSession& session, std::size_t drill) {
  for (const plan::SessionItem& item : session.items) {
    if (item.drill == drill) return &item;
  }
  return nullptr;
}

double shown_time(const plan::PlannedSession& session, std::span<const ShownDrill> drills) {
  double time = 0;
  for (const ShownDrill& drill : drills) {
    const plan::SessionItem* item = item_on(session, drill.index);
    if (item != nullptr) time += item->time;
  }
  return time;
}

// Drills down, days across, a square where the drill is done.
class WeekGrid {
 public:
  WeekGrid(PageFlow& flow, const plan::Plan& plan, const plan::PlannedWeek& week,
           std::span<const ShownDrill> drills)
      : flow_(flow),
        canvas_(flow.canvas()),
        plan_(plan),
        drills_(drills),
        sessions_(sessions_of(week, drills)),
        names_(flow.width() - 7 * kDay) {
    for (const ShownDrill& drill : drills) {
      heights_.push_back(std::max(name_height(drill) + 8, kNumber + 6));
    }
  }

  void draw() {
    double all = kDayRow + kFootRow;
    for (const double height : heights_) all += height;
    flow_.heading("Your week", kHeading, std::min(all, 0.6 * flow_.page_room()));
    draw_days();
    for (std::size_t i = 0; i < drills_.size(); ++i) draw_row(i);
    draw_foot();
  }

 private:
  static constexpr double kDay = 40;
  static constexpr double kDayRow = 17;
  static constexpr double kFootRow = 19;
  static constexpr double kDot = 11;

  TextStyle name_style() const {
    TextStyle style = body(11.5);
    style.width = names_ - kNumber - 14;
    return style;
  }
  double name_height(const ShownDrill& drill) {
    return canvas_.measure(drill.planned->name, name_style()).height;
  }
  double day_middle(int day) const { return flow_.left() + names_ + kDay * (day + 0.5); }
  const plan::PlannedSession* session_on(int day) const {
    for (const plan::PlannedSession* session : sessions_) {
      if (session->day == day) return session;
    }
    return nullptr;
  }

  void draw_days() {
    const Box head = flow_.take(kDayRow);
    for (int day = 0; day < 7; ++day) {
      const bool trains = session_on(day) != nullptr;
      canvas_.text({day_middle(day), head.y + 1}, weekday_short(plan_.from + day),
                   {10.5, trains ? Weight::Bold : Weight::Regular, trains ? kInk : kGranite,
                    Align::Center, 0, 0, 0});
    }
  }

  void draw_row(std::size_t i) {
    const ShownDrill& drill = drills_[i];
    const double before = flow_.y();
    flow_.need(heights_[i]);
    if (flow_.y() < before) draw_days();
    const Box row = flow_.take(heights_[i]);
    if (i % 2 == 0) {
      canvas_.rectangle({row.x - 4, row.y, row.width + 8, row.height});
      canvas_.fill(kLimewash);
    }
    draw_number(canvas_, {row.x, row.y + (row.height - kNumber) / 2, kNumber, kNumber},
                drill.number);
    canvas_.text({row.x + kNumber + 8, row.y + (row.height - name_height(drill)) / 2},
                 drill.planned->name, name_style());
    for (int day = 0; day < 7; ++day) {
      const plan::PlannedSession* session = session_on(day);
      if (session == nullptr || item_on(*session, drill.index) == nullptr) continue;
      canvas_.rectangle({day_middle(day) - kDot / 2, row.y + (row.height - kDot) / 2, kDot, kDot},
                        1.5);
      canvas_.fill(kTimber);
    }
  }

  void draw_foot() {
    const Box foot = flow_.take(kFootRow);
    canvas_.text({foot.x, foot.y + 3}, "together", {10, Weight::Regular, kGranite, Align::Left});
    for (const plan::PlannedSession* session : sessions_) {
      if (session->day < 0 || session->day > 6) continue;
      canvas_.text({day_middle(session->day), foot.y + 3},
                   minutes_text(shown_time(*session, drills_)),
                   {9, Weight::Regular, kGranite, Align::Center, 0, 0, 0});
    }
    flow_.skip(6);
  }

  PageFlow& flow_;
  Canvas& canvas_;
  const plan::Plan& plan_;
  std::span<const ShownDrill> drills_;
  std::vector<const plan::PlannedSession*> sessions_;
  double names_;  // width of the column of names
  std::vector<double> heights_;
};

}  // namespace

void draw_week(PageFlow& flow, const plan::Plan& plan, std::span<const ShownDrill> drills) {
  const plan::PlannedWeek* week = usual_week(plan);
  if (week != nullptr) WeekGrid(flow, plan, *week, drills).draw();
}

namespace {

// "21 Dec".
std::string day_text(Date date) {
  const std::string words = short_date(date);
  return words.substr(0, words.rfind(' '));
}

}  // namespace

void draw_week_log(PageFlow& flow, const plan::Plan& plan, std::span<const ShownDrill> drills) {
  if (plan.schedule.empty()) return;
  Canvas& canvas = flow.canvas();
  constexpr double kColumns = 4;
  constexpr double kBox = 12;
  const double cell = flow.width() / kColumns;
  const double height = 38;
  const TextStyle label{9.6, Weight::Bold, kInk, Align::Left, 0, 0, 0};
  const TextStyle small{8.6, Weight::Regular, kGranite, Align::Left, 0, 0, 0};
  flow.heading("Tick off each session", kHeading, height);
  bool any_easy = false;
  for (std::size_t i = 0; i < plan.schedule.size(); i += static_cast<std::size_t>(kColumns)) {
    const Box row = flow.take(height);
    for (std::size_t k = i;
         k < std::min(i + static_cast<std::size_t>(kColumns), plan.schedule.size()); ++k) {
      const plan::PlannedWeek& week = plan.schedule[k];
      const double x = row.x + cell * static_cast<double>(k - i);
      if (week.deload) {
        canvas.rectangle({x - 4, row.y, cell + 4, height - 4}, 2);
        canvas.fill(kLimewash);
        any_easy = true;
      }
      const Box name = canvas.text({x, row.y + 2}, "Week " + std::to_string(week.number), label);
      canvas.text({name.right() + 5, row.y + 2.8},
                  (week.deload ? "easy, " : "") + day_text(week.start), small);
      const std::size_t count = std::min<std::size_t>(sessions_of(week, drills).size(), 8);
      for (std::size_t s = 0; s < count; ++s) {
        canvas.rectangle({x + (kBox + 3.5) * static_cast<double>(s), row.y + 17, kBox, kBox}, 1.5);
        canvas.stroke({kInk, 0.9, LineStyle::Solid});
      }
    }
  }
  if (any_easy) {
    flow.paragraph("Easy weeks: the same drills with fewer sets, so that the body catches up.",
                   {9.6, Weight::Regular, kGranite, Align::Left, 0, 0, 0});
  }
  flow.skip(10);
}

namespace {

std::string quoted(const std::vector<std::string>& cues) {
  std::string text;
  for (const std::string& cue : cues) {
    text += (text.empty() ? "“" : "   “") + cue + "”";
  }
  return text;
}

// What stands beside the drawing.
Stack drill_words(const ShownDrill& shown) {
  const plan::PlannedDrill& planned = *shown.planned;
  Stack stack;
  if (shown.drill != nullptr && !shown.drill->position.empty()) {
    stack.push_back({shown.drill->position, body(10.2)});
  }
  if (shown.drill != nullptr) {
    int number = 1;
    for (const std::string& step : shown.drill->steps) {
      stack.push_back({step, body(10.2), number == 1 ? 4.0 : 2.0, 15, std::to_string(number)});
      ++number;
    }
  }
  const auto& cues =
      planned.cues.empty() && shown.drill != nullptr ? shown.drill->cues : planned.cues;
  if (!cues.empty()) {
    TextStyle style = bold(11);
    style.color = kHarbour;
    stack.push_back({quoted(cues), style, 5});
  }
  if (!planned.step_name.empty() || !planned.step_how.empty()) {
    stack.push_back({"Now: " + planned.step_name, bold(10.6), 6});
    if (!planned.step_how.empty()) stack.push_back({planned.step_how, body(10.2), 1});
  }
  if (!planned.move_on.empty()) {
    stack.push_back({"Move on when: " + planned.move_on, body(10.2), 3});
  }
  for (const std::string& caution : planned.cautions) {
    stack.push_back({caution, bold(9.4), 3, 11, "!"});
  }
  return stack;
}

// As a bathroom scale shows it.
std::string reading_text(double kilograms, UnitSystem units) {
  return units == UnitSystem::Metric ? fixed_text(kilograms, 0) + " kg"
                                     : fixed_text(kilograms / kKilogramsPerPound, 0) + " lb";
}

void draw_seated_hold(PageFlow& flow, const plan::SeatedHoldPlan& hold, UnitSystem units) {
  if (hold.ladder.empty()) return;
  const auto length = [&](double metres) {
    return value_text(metres, body::ProtocolUnit::Centimetres, units);
  };
  flow.need(60);
  flow.paragraph(
      "Take weight off the surface until the scale on it reads the number below, rise by " +
          length(hold.rise) + ", come back, repeat.",
      body(10.2));
  flow.skip(2);
  Table table;
  table.size = 10;
  table.columns = {{"Week", 0.6},
                   {"Surface above the floor", 1.4},
                   {"Scale on the surface", 1.3},
                   {"Scale under both feet", 1.3}};
  for (const plan::SurfaceRung& rung : hold.ladder) {
    table.rows.push_back(
        {{std::to_string(rung.week), length(rung.surface_height),
          reading_text(rung.on_surface, units), reading_text(rung.on_feet, units)}});
  }
  flow_table(flow, table);
  flow.skip(4);
}

}  // namespace

void draw_drill(PageFlow& flow, const plan::Plan& plan, const ShownDrill& shown, UnitSystem units) {
  Canvas& canvas = flow.canvas();
  const plan::PlannedDrill& planned = *shown.planned;
  const bool has_sketch = shown.drill != nullptr && !shown.drill->drawing.empty();
  const double sketch_width = has_sketch ? kSketchShare * flow.width() : 0;
  const double words_x = has_sketch ? sketch_width + kColumnGap : 0;
  const double words_width = flow.width() - words_x;
  const Stack words = drill_words(shown);
  const double words_height = stack_height(canvas, words, words_width);
  const SketchStyle style{8.2, 118, SketchCaptions::Show};
  const double most = std::clamp(words_height, kLeastSketch, kMostSketch);
  const double sketch_tall =
      has_sketch ? sketch_height(canvas, sketch_width, most, shown.drill->drawing, style) : 0;

  TextStyle name = bold(14);
  name.width = flow.width() - kNumber - 9;
  TextStyle dose = bold(11.5);
  dose.color = kTimber;
  dose.width = name.width;
  const std::string dose_words = dose_words_of(planned.dose);
  const double head =
      canvas.measure(planned.name, name).height + canvas.measure(dose_words, dose).height + 7;
  const double block = std::max(words_height, sketch_tall);
  const bool whole = head + block + 12 <= flow.page_room();
  flow.need(whole ? head + block + 8 : head + std::min(sketch_tall, flow.page_room() * 0.5) + 30);
  const Box top = flow.take(head);
  canvas.rectangle({top.x, top.y, top.width, 0.8});
  canvas.fill(kMortar);
  draw_number(canvas, {top.x, top.y + 5, kNumber, kNumber}, shown.number);
  const Box title = canvas.text({top.x + kNumber + 9, top.y + 3}, planned.name, name);
  canvas.text({top.x + kNumber + 9, title.bottom()}, dose_words, dose);
  if (whole) {
    const Box box = flow.take(block);
    if (has_sketch) {
      draw_sketch(canvas, {box.x, box.y, sketch_width, sketch_tall + 0.5}, shown.drill->drawing,
                  style);
    }
    draw_stack(canvas, {box.x + words_x, box.y}, words_width, words);
  } else {
    if (has_sketch) {
      const Box box = flow.take(sketch_tall + 6);
      draw_sketch(canvas, {box.x, box.y, sketch_width, sketch_tall + 0.5}, shown.drill->drawing,
                  style);
    }
    flow_stack(flow, words);
  }
  flow.skip(std::min(8.0, flow.room()));
  if (plan.seated_hold && planned.id == "seated-half-unloaded-hold") {
    draw_seated_hold(flow, *plan.seated_hold, units);
  }
  flow.skip(std::min(6.0, flow.room()));
}

}  // namespace lintel::report::handout
