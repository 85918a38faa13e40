// The code system of data/exchange/codes.json: what a measure is called in files for other
// programs.
#pragma once

#include <map>
#include <string>
#include <string_view>

#include "body/test_record.h"

namespace lintel::formats {

struct ExchangeCode {
  std::string code, display;
  std::string site;                            // "site_ankle"; empty = none
  std::string loinc, loinc_left, loinc_right;  // empty = none verified

  const std::string& loinc_of(body::TestSide side) const;
};

struct ExchangeCodes {
  std::string url;   // "urn:uuid:..."
  std::string json;  // the CodeSystem resource
  std::map<std::string, ExchangeCode, std::less<>> codes;

  const ExchangeCode* find(std::string_view code) const;  // nullptr if there is none
  // The site of a measure on one side: "site_ankle_left"; nullptr where the measure has no site.
  const ExchangeCode* site(const ExchangeCode& measure, body::TestSide side) const;
};

// Read once, at first use; safe from any thread.
const ExchangeCodes& exchange_codes();

}  // namespace lintel::formats
