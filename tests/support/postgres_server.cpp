#include "support/postgres_server.h"

#include <fcntl.h>
#include <grp.h>
#include <gtest/gtest.h>
#include <pwd.h>
#include <signal.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <thread>

#include "support/temporary_folder.h"

namespace lintel::test {
namespace {

constexpr auto kPatience = std::chrono::seconds(60);

const passwd* other_user() {
  if (::geteuid() != 0) return nullptr;
  const passwd* user = ::getpwnam("postgres");
  return user != nullptr ? user : ::getpwnam("nobody");
}

// Only what is safe between fork and exec.
void become(const passwd* user) {
  if (user == nullptr) return;
  if (::setgroups(0, nullptr) != 0 || ::setgid(user->pw_gid) != 0 || ::setuid(user->pw_uid) != 0) {
    ::_exit(126);
  }
}

// The child ends with this program, however that ends.
pid_t launch_program(const std::vector<std::string>& arguments, int output, const passwd* user) {
  std::vector<char*> words;
  for (const std::string& argument : arguments) words.push_back(const_cast<char*>(argument.data()));
  words.push_back(nullptr);
  const pid_t child = ::fork();
  if (child != 0) return child;
  become(user);
  ::prctl(PR_SET_PDEATHSIG, SIGQUIT);
  ::dup2(output, STDOUT_FILENO);
  ::dup2(output, STDERR_FILENO);
  if (::chdir("/") != 0) ::_exit(126);
  ::execv(words.front(), words.data());
  ::_exit(127);
}

std::filesystem::path find_programs() {
  std::filesystem::path found;
  std::error_code ignored;
  for (const auto& version : std::filesystem::directory_iterator("/usr/lib/postgresql", ignored)) {
    const std::filesystem::path programs = version.path() / "bin";
    if (std::filesystem::exists(programs / "initdb")) found = std::max(found, programs);
  }
  return found;
}

std::vector<pid_t> children_of(pid_t parent) {
  std::vector<pid_t> out;
  std::error_code ignored;
  for (const auto& entry : std::filesystem::directory_iterator("/proc", ignored)) {
    const std::string name = entry.path().filename().string();
    if (name.find_first_not_of("0123456789") != std::string::npos) continue;
    std::ifstream file(entry.path() / "stat");
    std::string text((std::istreambuf_iterator<char>(file)), {});
    const std::size_t end = text.rfind(')');
    if (end == std::string::npos) continue;
    char state = 0;
    pid_t its_parent = 0;
    std::istringstream(text.substr(end + 1)) >> state >> its_parent;
    if (its_parent == parent) out.push_back(static_cast<pid_t>(std::stol(name)));
  }
  return out;
}

template <typename Condition>
bool wait_until(Condition&& condition) {
  const auto deadline = std::chrono::steady_clock::now() + kPatience;
  while (!condition()) {
    if (std::chrono::steady_clock::now() > deadline) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
  }
  return true;
}

}  // namespace

Ran run_program(const std::vector<std::string>& arguments, bool as_postgres) {
  int ends[2];
  if (::pipe2(ends, O_CLOEXEC) != 0) return {};
  const pid_t child = launch_program(arguments, ends[1], as_postgres ? other_user() : nullptr);
  ::close(ends[1]);
  Ran out;
  char piece[4096];
  for (ssize_t got = 0; (got = ::read(ends[0], piece, sizeof piece)) > 0;) {
    out.output.append(piece, static_cast<std::size_t>(got));
  }
  ::close(ends[0]);
  int status = 0;
  ::waitpid(child, &status, 0);
  out.status = WIFEXITED(status) ? WEXITSTATUS(status) : 128;
  return out;
}

std::unique_ptr<PostgresServer> PostgresServer::start(Disk disk, std::string& why_not) {
  const std::filesystem::path programs = find_programs();
  if (programs.empty()) {
    why_not = "PostgreSQL is not installed (package postgresql-15)";
    return nullptr;
  }
  // Short: a socket's path has 107 bytes.
  std::string folder = (scratch_folder() / "lintel-postgres-XXXXXX").string();
  if (::mkdtemp(folder.data()) == nullptr) {
    why_not = "no temporary folder can be made";
    return nullptr;
  }
  if (const passwd* user = other_user()) {
    if (::chown(folder.c_str(), user->pw_uid, user->pw_gid) != 0) why_not = "chown failed";
  }
  std::unique_ptr<PostgresServer> out(new PostgresServer(folder, programs, disk));
  // Sorted by a language, as servers are set up: what must be in the order of bytes says so itself.
  const Ran made = run_program(
      {(programs / "initdb").string(), "-D", folder + "/data", "-U", "lintel", "-A", "trust", "-E",
       "UTF8", "--locale=C.UTF-8", "--locale-provider=icu", "--icu-locale=en-US", "--no-sync"},
      true);
  if (made.status != 0) {
    why_not = "initdb failed: " + made.output;
    return nullptr;
  }
  if (!out->launch()) {
    why_not = "the server does not answer";
    return nullptr;
  }
  return out;
}

PostgresServer* PostgresServer::shared(std::string& why_not) {
  static std::string reason;
  static const std::unique_ptr<PostgresServer> server = start(Disk::Careless, reason);
  why_not = reason;
  return server.get();
}

PostgresServer::~PostgresServer() {
  if (postmaster_ > 0) {
    ::kill(postmaster_, SIGQUIT);
    ::waitpid(postmaster_, nullptr, 0);
  }
  std::error_code ignored;
  std::filesystem::remove_all(folder_, ignored);
}

bool PostgresServer::launch() {
  const std::string log = (folder_ / "log").string();
  const int output = ::open(log.c_str(), O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0644);
  postmaster_ = launch_program(
      {(programs_ / "postgres").string(), "-D", (folder_ / "data").string(), "-k", folder_.string(),
       "-c", "listen_addresses=", "-c", disk_ == Disk::Safe ? "fsync=on" : "fsync=off", "-c",
       "max_connections=200", "-c", "shared_buffers=256MB"},
      output, other_user());
  ::close(output);
  bool ended = false;
  const bool ready = wait_until([&] {
    ended = ::waitpid(postmaster_, nullptr, WNOHANG) != 0;
    return ended || answers();
  });
  if (ended) postmaster_ = -1;
  return ready && !ended;
}

bool PostgresServer::answers() const {
  return run_program({(programs_ / "pg_isready").string(), "-q", "-h", folder_.string()}).status ==
         0;
}

std::string PostgresServer::new_database() {
  const std::string name = "lintel_" + std::to_string(++databases_);
  const Ran made = run_program(
      {(programs_ / "createdb").string(), "-h", folder_.string(), "-U", "lintel", name});
  EXPECT_EQ(made.status, 0) << made.output;
  return "postgresql://lintel@/" + name + "?host=" + folder_.string();
}

std::string PostgresServer::psql(const std::string& url, const std::string& sql) const {
  const Ran ran = run_program({(programs_ / "psql").string(), "-X", "-q", "-A", "-t", "-v",
                               "ON_ERROR_STOP=1", "-d", url, "-c", sql});
  EXPECT_EQ(ran.status, 0) << ran.output;
  return ran.output;
}

std::string PostgresServer::dump(const std::string& url) const {
  const Ran ran = run_program(
      {(programs_ / "pg_dump").string(), "--inserts", "--no-owner", "--no-privileges", "-d", url});
  EXPECT_EQ(ran.status, 0) << ran.output;
  // Words of the newest psql alone ("\\restrict"), which older ones refuse.
  std::istringstream lines(ran.output);
  std::string out;
  for (std::string line; std::getline(lines, line);) {
    if (!line.starts_with("\\")) out += line + "\n";
  }
  return out;
}

void PostgresServer::kill_hard() {
  // The postmaster first, so that it starts nothing anew.
  const std::vector<pid_t> children = children_of(postmaster_);
  ::kill(postmaster_, SIGSTOP);
  for (const pid_t child : children_of(postmaster_)) ::kill(child, SIGKILL);
  ::kill(postmaster_, SIGKILL);
  ::waitpid(postmaster_, nullptr, 0);
  for (const pid_t child : children) {
    wait_until([&] { return ::kill(child, 0) != 0; });
  }
  postmaster_ = -1;
}

bool PostgresServer::start_again() {
  return launch();
}

}  // namespace lintel::test
