#include "reasoning/test_choice.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>

#include "base/text.h"
#include "reasoning/defaults.h"
#include "reasoning/test_limits.h"

namespace lintel::reasoning {
namespace {

using body::MobilityTest;
using posture::Limit;

// ---- Value of a signal --------------------------------------------------------------------------

// Everything that the draws of one bin of the signal add up to; every other draw in either half.
struct Bin {
  double weight = 0.0;
  double signal = 0.0;                                        // weighted sum
  std::array<std::array<double, kFactorCount>, 2> part{};     // weighted sums [rad]
  std::array<std::array<double, kFactorCount>, 2> largest{};  // weight of those it is largest in

  void add(const Bin& b, double factor) {
    weight += factor * b.weight;
    signal += factor * b.signal;
    for (std::size_t h = 0; h < 2; ++h) {
      for (std::size_t i = 0; i < kFactorCount; ++i) {
        part[h][i] += factor * b.part[h][i];
        largest[h][i] += factor * b.largest[h][i];
      }
    }
  }
};

using Values = std::array<double, kFactorCount>;

std::size_t index_of_largest(const Values& values) {
  return static_cast<std::size_t>(std::max_element(values.begin(), values.end()) - values.begin());
}

Values both(const std::array<Values, 2>& halves) {
  Values sum;
  for (std::size_t i = 0; i < kFactorCount; ++i) sum[i] = halves[0][i] + halves[1][i];
  return sum;
}

// What one half of the draws would choose, worth what the other half says: a choice that only
// chance suggests is not rewarded.
double crossed(const std::array<Values, 2>& halves) {
  return halves[1][index_of_largest(halves[0])] + halves[0][index_of_largest(halves[1])];
}

double largest_of(const Values& values) {
  return values[index_of_largest(values)];
}

// The signal of draw k is taken from draw (k + shift) mod n: with a shift nothing is left of it but
// what chance makes of so many draws.
std::vector<Bin> bins_of(const std::vector<DrawSample>& samples, const std::vector<double>& signal,
                         std::size_t shift, double error) {
  const auto [low, high] = std::minmax_element(signal.begin(), signal.end());
  constexpr double kFewestBins = 60.0, kMostBins = 400.0;
  const double wanted = std::ceil((*high - *low) / (0.5 * error));
  const auto count = static_cast<std::size_t>(std::clamp(wanted, kFewestBins, kMostBins));
  std::vector<Bin> bins(count);
  const double width = (*high - *low) / static_cast<double>(count);
  for (std::size_t k = 0; k < samples.size(); ++k) {
    const DrawSample& s = samples[k];
    const double x = signal[(k + shift) % samples.size()];
    const auto at = width > 0.0 ? static_cast<std::size_t>((x - *low) / width) : std::size_t{0};
    Bin& bin = bins[std::min(at, count - 1)];
    bin.weight += s.weight;
    bin.signal += s.weight * x;
    for (std::size_t i = 0; i < kFactorCount; ++i) bin.part[k % 2][i] += s.weight * s.parts[i];
    bin.largest[k % 2][index_of_largest(s.parts)] += s.weight;
  }
  std::erase_if(bins, [](const Bin& b) { return b.weight <= 0.0; });
  return bins;
}

// Results y that the test may give, with what the draws say to each; calls take(sums at y).
template <typename Take>
void over_results(const std::vector<Bin>& bins, double error, const Take& take) {
  double low = std::numeric_limits<double>::infinity();
  double high = -low;
  for (const Bin& b : bins) {
    low = std::min(low, b.signal / b.weight);
    high = std::max(high, b.signal / b.weight);
  }
  constexpr double kReach = 4.0;  // standard errors beyond the signals
  low -= kReach * error;
  high += kReach * error;
  constexpr double kStep = 0.35;  // of a standard error
  constexpr int kFewest = 60, kMost = 400;
  const int steps =
      std::clamp(static_cast<int>(std::ceil((high - low) / (kStep * error))), kFewest, kMost);
  const double step = (high - low) / steps;
  for (int j = 0; j < steps; ++j) {
    const double y = low + (j + 0.5) * step;
    Bin at;
    for (const Bin& b : bins) {
      const double z = (y - b.signal / b.weight) / error;
      if (std::abs(z) > 6.0) continue;
      at.add(b, std::exp(-0.5 * z * z) * step / (error * std::sqrt(2.0 * std::numbers::pi)));
    }
    if (at.weight > 0.0) take(at);
  }
}

Bin total_of(const std::vector<Bin>& bins) {
  Bin all;
  for (const Bin& b : bins) all.add(b, 1.0);
  return all;
}

// I(largest factor; y) of these draws, as they are [bits].
double information_of(const std::vector<Bin>& bins, double error) {
  const Bin all = total_of(bins);
  const Values prior = both(all.largest);
  double bits = 0.0;
  over_results(bins, error, [&](const Bin& at) {
    const Values here = both(at.largest);
    for (std::size_t i = 0; i < kFactorCount; ++i) {
      if (here[i] <= 0.0) continue;
      bits += here[i] * std::log2(here[i] * all.weight / (at.weight * prior[i]));
    }
  });
  return bits / all.weight;
}

// ---- The tests ----------------------------------------------------------------------------------

bool is_done(const body::Athlete& athlete, MobilityTest test) {
  return athlete.tests[test][0] || athlete.tests[test][1];
}

bool is_of_arm(Limit limit) {
  return limit == Limit::ShoulderElevation || limit == Limit::LatissimusLength;
}

// A second result by the same test: before it the edge has variance s^2 = shared + own, after it
// shared + own / 2. The independent error that has the same effect.
std::optional<double> error_of_repeat(double now, double shared) {
  const double own = now * now - shared * shared;
  if (own <= 1e-4 * now * now) return std::nullopt;
  const double after = shared * shared + 0.5 * own;
  return std::sqrt(1.0 / (1.0 / after - 1.0 / (now * now)));
}

std::vector<double> edge_signal(const std::vector<DrawSample>& samples, Limit limit, double scale) {
  std::vector<double> out;
  out.reserve(samples.size());
  for (const DrawSample& s : samples) {
    out.push_back(scale * s.limit_deviate[static_cast<std::size_t>(limit)]);
  }
  return out;
}

// Nothing where the test cannot be done, is of no use to the model, or adds nothing.
std::optional<TestOption> option_of(const TestChoiceInput& input, const TestOfLimit& c) {
  const ExplainResult& r = input.explained;
  const bool overhead = r.setup.bar_position == body::BarPosition::Overhead;
  if (is_of_arm(c.limit) && !overhead) return std::nullopt;
  if (!input.can_be_done.empty() && std::find(input.can_be_done.begin(), input.can_be_done.end(),
                                              c.test) == input.can_be_done.end()) {
    return std::nullopt;
  }
  TestOption option{c.test, c.limit, is_done(input.athlete, c.test), 0.0, {}, ""};
  if (option.repeat && input.repeats == Repeats::LeftOut) return std::nullopt;
  // The model does not take this one where the other test of the same limit was done.
  for (const TestOfLimit& other : tests_of_limits()) {
    if (other.test == c.test) break;
    if (other.limit == c.limit && is_done(input.athlete, other.test)) return std::nullopt;
  }
  const auto l = static_cast<std::size_t>(c.limit);
  const double edge = r.fitted_limits.edges[l].edge;
  const double now = r.uncertain_input.limits.standard_error[l];
  const double result = result_of_range(c, edge, r.body.lengths);
  const auto alone = range_of_result(input.athlete, c, {result, 0.0}, r.body.lengths);
  if (!alone || now <= 0.0) return std::nullopt;
  option.error = alone->standard_error;
  double error = option.error;
  if (option.repeat) {
    constexpr double kNoError = 1e-9;  // 0 would mean the default
    const auto bare = range_of_result(input.athlete, c, {result, kNoError}, r.body.lengths);
    const auto repeated =
        bare ? error_of_repeat(now, std::min(bare->standard_error, now)) : std::nullopt;
    if (!repeated) return std::nullopt;
    error = *repeated;
  }
  option.value = value_of_signal(r.uncertainty.samples,
                                 edge_signal(r.uncertainty.samples, c.limit, now), error);
  return option;
}

double degrees(double radians) {
  return radians * kDegreesPerRadian;
}

// How often the part that would be named is the largest: of 100 athletes with these numbers.
double of_hundred(double probability) {
  return std::round(100.0 * probability);
}

std::string why_of(const TestOption& option, double probability_now) {
  const double now = of_hundred(probability_now);
  const double then = of_hundred(option.value.probability_right);
  const char* again = option.repeat ? " done once more" : "";
  if (then <= now) {
    static const double kLeast = default_table().value("test_choice.least_information");
    return text(
        "Of 100 athletes with these numbers the part named first is the largest for %.0f, with or "
        "without this test%s%s.",
        now, again,
        option.value.information >= kLeast ? "; it tells more about the other parts" : "");
  }
  return text(
      "Of 100 athletes with these numbers the part named first is the largest for %.0f today, with "
      "this test%s for %.0f.",
      now, again, then);
}

// Reason to stop or go on, and the words.
void decide(TestChoice& choice, Factor most_probable) {
  static const double kLeast = default_table().value("test_choice.least_information");
  static const double kStake = default_table().value("test_choice.least_at_stake");
  for (TestOption& o : choice.options) o.why = why_of(o, choice.probability_right_now);
  const std::string factor(factor_label(most_probable));
  const double probability = of_hundred(choice.probability_right_now);
  const double stake = choice.value_at_best - choice.value_now;
  if (choice.options.empty()) {
    choice.stop = StopReason::NoTestLeft;
    choice.sentence = "No test is left that the model could use.";
  } else if (stake < kStake) {
    choice.stop = StopReason::Decided;
    choice.sentence = text(
        "No further test now: to know the largest part for sure would make what is worked on first "
        "only %s larger than %s (the largest part with probability %.0f %%).",
        degrees_in_words(degrees(stake)).c_str(), factor.c_str(), probability);
  } else if (choice.options.front().value.information >= kLeast) {
    const TestOption& first = choice.options.front();
    choice.sentence = text(
        "Next: %s%s. Stop when no test changes much any more which part is named first, or when "
        "being sure of it would be worth under %.1f degrees of lean (now %.1f).",
        std::string(test_label(first.test)).c_str(), first.repeat ? ", once more" : "",
        degrees(kStake), degrees(stake));
  } else {
    choice.stop = StopReason::NothingToGain;
    choice.sentence = text(
        "No further test now: none would change much which part is named first. What stays open "
        "(%s with %.0f %%, %s at stake) comes from setup, camera and habit: film instead.",
        factor.c_str(), probability, degrees_in_words(degrees(stake)).c_str());
  }
}

}  // namespace

SignalValue value_of_signal(const std::vector<DrawSample>& samples,
                            const std::vector<double>& signal, double error) {
  LINTEL_CHECK(samples.size() == signal.size() && error > 0.0);
  SignalValue value;
  if (samples.size() < 2) return value;
  const std::vector<Bin> bins = bins_of(samples, signal, 0, error);
  if (bins.empty()) return value;
  over_results(bins, error, [&](const Bin& at) {
    value.gain += crossed(at.part);
    value.probability_right += crossed(at.largest);
  });
  const Bin all = total_of(bins);
  const double right_now = largest_of(both(all.largest)) / all.weight;
  value.gain = std::max(0.0, value.gain - largest_of(both(all.part))) / all.weight;
  value.probability_right = std::max(right_now, value.probability_right / all.weight);
  // Finitely many draws seem to tell more than they do: the same draws with the signals of others,
  // which tell nothing, show how much.
  constexpr std::size_t kShifts = 4;
  value.information = information_of(bins, error);
  for (std::size_t i = 1; i <= kShifts; ++i) {
    const std::size_t shift = std::max<std::size_t>(1, i * samples.size() / (kShifts + 1));
    value.information -= information_of(bins_of(samples, signal, shift, error), error) / kShifts;
  }
  value.information = std::max(0.0, value.information);
  return value;
}

namespace {

// Tests that forbid the posture seen are repeated before anything else: first the one behind the
// largest part of the lean that they claim.
void repeat_what_is_contradicted(TestChoice& choice, const TestChoiceInput& input) {
  const ExplainResult& r = input.explained;
  if (!r.uncertainty.contradicted || input.repeats == Repeats::LeftOut) return;
  const auto claimed = [&](const TestOption& o) {
    double part = -std::numeric_limits<double>::infinity();
    for (std::size_t i = kLeverFactorCount; i < kPhysicalFactorCount; ++i) {
      const auto limits = limits_of(static_cast<Factor>(i));
      if (std::find(limits.begin(), limits.end(), o.limit) == limits.end()) continue;
      part = r.uncertainty.parts[i].mean;
    }
    return o.repeat ? part : -std::numeric_limits<double>::infinity();
  };
  const auto worst = std::max_element(
      choice.options.begin(), choice.options.end(),
      [&](const TestOption& a, const TestOption& b) { return claimed(a) < claimed(b); });
  if (worst == choice.options.end() || !worst->repeat) return;
  std::rotate(choice.options.begin(), worst, worst + 1);
  TestOption& first = choice.options.front();
  first.why = "Posture and tests contradict each other, and this one claims the most.";
  choice.stop = StopReason::NotYet;
  choice.sentence = text(
      "Next: %s, once more, by another hand if there is one: tests and posture contradict each "
      "other. Until that is cleared up the worth of the other tests cannot be told.",
      std::string(test_label(first.test)).c_str());
}

}  // namespace

std::string_view stop_reason_name(StopReason reason) {
  static constexpr std::array<std::string_view, 4> kNames = {"not_yet", "decided",
                                                             "nothing_to_gain", "no_test_left"};
  return kNames[static_cast<std::size_t>(reason)];
}

Result<TestChoice> choose_test(const TestChoiceInput& input) {
  const std::vector<DrawSample>& samples = input.explained.uncertainty.samples;
  if (samples.empty()) {
    return fail(ErrorCode::Invalid, "the draws were not kept",
                "explain with ExplainOptions::samples = Samples::Kept");
  }
  TestChoice choice;
  double weight = 0.0;
  Values part{}, largest{};
  for (const DrawSample& s : samples) {
    weight += s.weight;
    choice.value_at_best += s.weight * largest_of(s.parts);
    largest[index_of_largest(s.parts)] += s.weight;
    for (std::size_t i = 0; i < kFactorCount; ++i) part[i] += s.weight * s.parts[i];
  }
  choice.value_at_best /= weight;
  choice.value_now = largest_of(part) / weight;
  choice.probability_right_now = largest_of(largest) / weight;
  for (const TestOfLimit& c : tests_of_limits()) {
    if (auto option = option_of(input, c)) choice.options.push_back(std::move(*option));
  }
  std::stable_sort(choice.options.begin(), choice.options.end(),
                   [](const TestOption& a, const TestOption& b) {
                     if (a.value.information != b.value.information) {
                       return a.value.information > b.value.information;
                     }
                     return a.value.gain > b.value.gain;
                   });
  decide(choice, static_cast<Factor>(index_of_largest(largest)));
  repeat_what_is_contradicted(choice, input);
  return choice;
}

}  // namespace lintel::reasoning
