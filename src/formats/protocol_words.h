// The words of protocol files, in the order of the enumerations of body/test_protocol.h. Inside
// this module.
#pragma once

#include <string>
#include <vector>

#include "body/test_protocol.h"

namespace lintel::formats::words {

using Words = std::vector<std::string>;

inline const Words& units() {
  static const Words kWords = {"deg", "cm", "s"};
  return kWords;
}
inline const Words& sides() {
  static const Words kWords = {"each", "none"};
  return kWords;
}
inline const Words& better() {
  static const Words kWords = {"higher", "lower", "neither"};
  return kWords;
}
inline const Words& pass_references() {
  static const Words kWords = {"absolute", "hand_breadth", "stature"};
  return kWords;
}
inline const Words& measures() {
  static const Words kWords = {"turn", "between", "slope", "distance"};
  return kWords;
}
inline const Words& axes() {
  static const Words kWords = {"free", "up", "down", "horizontal"};
  return kWords;
}
inline const Words& views() {
  static const Words kWords = {"side", "front", "top"};
  return kWords;
}
inline const Words& tests() {
  static const Words kWords = [] {
    Words words;
    for (int i = 0; i < body::kMobilityTestCount; ++i) {
      words.emplace_back(body::mobility_test_name(static_cast<body::MobilityTest>(i)));
    }
    return words;
  }();
  return kWords;
}
inline const Words& warning_signs() {
  static const Words kWords = [] {
    Words words;
    for (int i = 0; i <= static_cast<int>(body::WarningSign::BladderOrBowelChange); ++i) {
      words.emplace_back(body::warning_sign_name(static_cast<body::WarningSign>(i)));
    }
    return words;
  }();
  return kWords;
}

}  // namespace lintel::formats::words
