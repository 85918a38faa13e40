// A PostgreSQL of one's own: a new cluster in a temporary folder, reached by its socket alone.
#pragma once

#include <sys/types.h>

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

namespace lintel::test {

class PostgresServer {
 public:
  enum class Disk : bool { Careless, Safe };  // fsync off for speed, or as in production

  // Nothing when PostgreSQL is not installed or does not start: why_not says it.
  static std::unique_ptr<PostgresServer> start(Disk disk, std::string& why_not);
  // One for the whole program, careless, stopped at its end; nullptr: why_not says it.
  static PostgresServer* shared(std::string& why_not);

  PostgresServer(const PostgresServer&) = delete;
  PostgresServer& operator=(const PostgresServer&) = delete;
  ~PostgresServer();

  // A new empty database; its url for DatabaseOptions.
  std::string new_database();
  // What psql prints, unaligned and without headings; fails the test when psql does.
  std::string psql(const std::string& url, const std::string& sql) const;

  std::string dump(const std::string& url) const;  // what pg_dump says, rows as INSERT

  void kill_hard();    // SIGKILL to the postmaster and all its children
  bool start_again();  // after that; true when it answers

 private:
  PostgresServer(std::filesystem::path folder, std::filesystem::path programs, Disk disk)
      : folder_(std::move(folder)), programs_(std::move(programs)), disk_(disk) {}
  bool launch();
  bool answers() const;

  std::filesystem::path folder_, programs_;
  Disk disk_;
  pid_t postmaster_ = -1;
  int databases_ = 0;
};

// Runs a program and waits; both streams. `as_postgres`: as the user postgres (or nobody) when this
// is root, because PostgreSQL refuses to run as root.
struct Ran {
  int status = -1;
  std::string output;
};
Ran run_program(const std::vector<std::string>& arguments, bool as_postgres = false);

}  // namespace lintel::test
