// Text from people and files, made fit to be drawn or put into a document.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace lintel::report {

enum class LineFeeds : std::uint8_t { Keep, ToSpaces };

// Valid UTF-8 without control characters (each replaced by a space or the replacement
// character) and at most 4000 bytes long, cut between characters.
std::string printable_text(std::string_view text, LineFeeds line_feeds);

// The same, with the characters escaped that mean something in XML.
std::string escape_xml(std::string_view text);

// "2026-11-25"; checks form and ranges of month and day, not the calendar.
bool is_iso_date(std::string_view text);

}  // namespace lintel::report
