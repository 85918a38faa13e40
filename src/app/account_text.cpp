#include "app/account_text.h"

#include <algorithm>

namespace lintel::app {
namespace {

std::size_t letters_in(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

// Columns as wide as their widest cell, two spaces apart.
std::string table(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t i = 0; i < row.size(); ++i) {
      widths[i] = std::max(widths[i], letters_in(row[i]));
    }
  }
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      line += row[i];
      if (i + 1 < row.size()) line += std::string(widths[i] - letters_in(row[i]) + 2, ' ');
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    text += line + "\n";
  }
  return text;
}

std::string or_dash(const std::string& text) {
  return text.empty() ? "-" : text;
}

std::string state_of(const view::Account& account) {
  if (!account.active) return "inactive";
  return account.has_passphrase ? "active" : "invited";
}

}  // namespace

std::string people_text(const std::vector<view::Account>& people) {
  std::vector<std::vector<std::string>> rows = {
      {"name", "login", "role", "state", "last signed in", "id"}};
  for (const view::Account& a : people) {
    rows.push_back(
        {a.name, a.login, a.role, state_of(a), or_dash(a.signed_in_at.substr(0, 10)), a.person});
  }
  return table(rows);
}

std::string person_text(const PersonWithInvitation& person) {
  const view::Account& a = person.account;
  std::string text =
      a.name + " (login " + a.login + ", role " + a.role + ", " + state_of(a) + ")\n";
  if (!person.invitation.empty()) {
    text += "invitation, valid once until " + person.invitation_expires_at + ": open /join#" +
            person.invitation + " in the app\n";
  }
  return text;
}

std::string audit_text(const view::AuditPage& page) {
  std::vector<std::vector<std::string>> rows = {
      {"no", "when", "what", "who", "from", "record", "athlete", "detail"}};
  for (const view::AuditRow& row : page.rows) {
    rows.push_back({std::to_string(row.sequence), row.at, row.action, or_dash(row.person),
                    or_dash(row.peer), or_dash(row.record), or_dash(row.athlete), row.detail});
  }
  std::string text = table(rows);
  if (!page.next.empty()) text += "more: --after " + page.next + "\n";
  return text;
}

std::string chain_verdict_text(const view::ChainVerdict& verdict) {
  const std::string rows = std::to_string(verdict.rows);
  if (!verdict.whole) {
    return "The audit trail is BROKEN at row " + std::to_string(verdict.first_broken) + ": " +
           verdict.fault + ". The " + rows +
           " rows before it are what was written.\nKeep a copy of the database as it is, and "
           "compare with the last backup.\n";
  }
  return "The audit trail is whole: " + rows + " rows.\nLast row " +
         std::to_string(verdict.head_sequence) + ", hash " + verdict.head_hash +
         "\nNote this line down outside of this machine; verify later with --sequence " +
         std::to_string(verdict.head_sequence) + " --hash and that hash.\n";
}

}  // namespace lintel::app
