// The whole server in the test's process: a fresh workplace in a temporary folder, a free port on
// loopback, people of every role in two organizations, and clients that are signed in as them.
#pragma once

#include <gtest/gtest.h>

#include <map>
#include <memory>
#include <string>

#include "app/accounts.h"
#include "app/practice.h"
#include "server/server.h"
#include "support/http_client.h"
#include "support/temporary_folder.h"

namespace lintel::test {

// Somebody signed in: the client sends cookie and write token by itself.
struct Person {
  app::Caller caller;
  std::string login, passphrase;
  std::string athlete;  // of the role athlete: id of the own record
};

class ServerFixture {
 public:
  struct Options {
    server::ServerOptions server;                                  // port and loopback are set here
    std::string database;                                          // empty = SQLite in the folder
    server::StaticFiles files;                                     // of the web app
    std::function<void(std::vector<server::Route>&)> more_routes;  // added to those of the API
    std::function<std::string()> now;                              // empty = the clock
  };
  ServerFixture() : ServerFixture(Options{}) {}
  explicit ServerFixture(Options options);
  ~ServerFixture();

  app::Practice& practice() { return *practice_; }
  server::Server& server() { return *server_; }
  std::uint16_t port() const { return server_->port(); }
  const std::filesystem::path& folder() const { return folder_.path(); }

  // A client that is nobody.
  HttpClient client() const { return HttpClient(server_->url()); }
  // A client signed in as that role of organization 0 or 1; the person is made at the first call.
  // An athlete's own record is made too.
  HttpClient as(app::Role role, int organization = 0);
  const Person& person(app::Role role, int organization = 0);
  // Another athlete's record of that organization, without an account; made at each call.
  std::string add_athlete(const std::string& name, int organization = 0);

  // Stops the server and starts it again on the same data (another port).
  void restart();

 private:
  void start();
  const app::SignedIn& owner(int organization);

  Options options_;
  TemporaryFolder folder_;
  std::unique_ptr<app::Practice> practice_;
  std::unique_ptr<server::Server> server_;
  std::map<int, app::SignedIn> owners_;
  struct Account {
    Person person;
    std::string cookie, csrf_token;
  };
  Account& account(app::Role role, int organization);
  std::map<std::pair<int, app::Role>, Account> accounts_;
};

// For tests: fails with the error's own words.
template <typename T>
T value_of(Result<T> result) {
  if (!result) throw std::runtime_error(describe(result.error()));
  return std::move(*result);
}

}  // namespace lintel::test
