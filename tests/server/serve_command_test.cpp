// `lintel serve` as a person starts it: the program itself, asked by libcurl.
#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "support/http_client.h"
#include "support/temporary_folder.h"

namespace lintel::test {
namespace {

using nlohmann::json;

// The program with its two outputs; ended with the object.
class Serving {
 public:
  explicit Serving(std::vector<std::string> arguments) {
    std::array<int, 2> out{}, errors{};
    if (::pipe(out.data()) != 0 || ::pipe(errors.data()) != 0) return;
    arguments.insert(arguments.begin(), {LINTEL_PROGRAM, "serve"});
    std::vector<char*> pointers;
    for (std::string& argument : arguments) pointers.push_back(argument.data());
    pointers.push_back(nullptr);
    child_ = ::fork();
    if (child_ == 0) {
      ::dup2(out[1], 1);
      ::dup2(errors[1], 2);
      ::close(out[0]);
      ::close(errors[0]);
      ::execv(pointers[0], pointers.data());
      ::_exit(127);
    }
    ::close(out[1]);
    ::close(errors[1]);
    out_ = out[0];
    errors_ = errors[0];
  }
  ~Serving() {
    if (child_ > 0) {
      ::kill(child_, SIGKILL);
      ::waitpid(child_, nullptr, 0);
    }
    ::close(out_);
    ::close(errors_);
  }
  Serving(const Serving&) = delete;
  Serving& operator=(const Serving&) = delete;

  // The first line on standard output; waits for it. Empty when the program ends first.
  std::string line() {
    std::string text;
    char byte = 0;
    while (::read(out_, &byte, 1) == 1 && byte != '\n') text += byte;
    return text;
  }
  void ask_to_stop() const { ::kill(child_, SIGINT); }
  int wait() {
    int status = 0;
    ::waitpid(child_, &status, 0);
    child_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }
  std::string errors() const {
    std::string text;
    std::array<char, 1024> piece{};
    ssize_t got = 0;
    while ((got = ::read(errors_, piece.data(), piece.size())) > 0) {
      text.append(piece.data(), static_cast<std::size_t>(got));
    }
    return text;
  }

 private:
  pid_t child_ = -1;
  int out_ = -1, errors_ = -1;
};

class ServeCommand : public ::testing::Test {
 protected:
  std::vector<std::string> arguments(std::vector<std::string> more) {
    more.insert(more.begin(), {"--data", (folder_ / "data").string(), "--workers", "0", "--json"});
    return more;
  }
  // Makes the owner as the first page does.
  void make_owner() {
    Serving serving(arguments({"--listen", "127.0.0.1:0"}));
    const json start = json::parse(serving.line(), nullptr, false);
    ASSERT_TRUE(start.is_object());
    EXPECT_EQ(start.at("needs_owner"), true);
    HttpClient client(start.at("url").get<std::string>());
    const HttpReply made = client.post(
        "/api/v1/owner",
        R"({"name":"Runa Feldvik","organization":"Skarnholm Lifting Club","passphrase":"harbour wind over Skarnholm"})");
    EXPECT_EQ(made.status, 201) << made.body;
    serving.ask_to_stop();
    EXPECT_EQ(serving.wait(), 0);
  }
  TemporaryFolder folder_;
};

TEST_F(ServeCommand, SaysWhereItListensAnswersAndStopsOnInterrupt) {
  Serving serving(arguments({"--listen", "127.0.0.1:0"}));
  const json start = json::parse(serving.line(), nullptr, false);
  ASSERT_TRUE(start.is_object()) << serving.errors();
  HttpClient client(start.at("url").get<std::string>());
  EXPECT_EQ(client.get("/api/v1/status").status, 200);
  EXPECT_EQ(client.get("/").status, 200);
  serving.ask_to_stop();
  EXPECT_EQ(serving.wait(), 0);
  EXPECT_EQ(serving.errors(), "");
}

TEST_F(ServeCommand, LetsOtherMachinesInOnlyWithTlsAndAnOwner) {
  Serving without_owner(arguments({"--listen", "0.0.0.0:0", "--tls-make"}));
  EXPECT_EQ(without_owner.wait(), 6);  // Denied
  EXPECT_NE(without_owner.errors().find("no owner"), std::string::npos);
  make_owner();
  Serving without_tls(arguments({"--listen", "0.0.0.0:0"}));
  EXPECT_EQ(without_tls.wait(), 6);
  EXPECT_NE(without_tls.errors().find("TLS"), std::string::npos);

  Serving serving(arguments({"--listen", "0.0.0.0:0", "--tls-make"}));
  const json start = json::parse(serving.line(), nullptr, false);
  ASSERT_TRUE(start.is_object()) << serving.errors();
  EXPECT_EQ(start.at("tls"), true);
  EXPECT_EQ(start.at("certificate_sha256").get<std::string>().size(), 95U);
  HttpClient client("https://127.0.0.1:" + std::to_string(start.at("port").get<int>()));
  client.trust((folder_ / "data" / "tls" / "certificate.pem").string());
  const HttpReply status = client.get("/api/v1/status");
  EXPECT_EQ(status.status, 200) << status.fault;
  serving.ask_to_stop();
  EXPECT_EQ(serving.wait(), 0);
}

TEST_F(ServeCommand, NamesTheOptionThatIsWrong) {
  for (const auto& [more, word] : std::vector<std::pair<std::vector<std::string>, std::string>>{
           {{"--listen", "here"}, "--listen"},
           {{"--listen", "127.0.0.1:0", "--tls-cert", "/nowhere.pem"}, "--tls-cert"},
           {{"--listen", "127.0.0.1:0", "--web-dir", "/nowhere"}, "index.html"}}) {
    Serving serving(arguments(more));
    EXPECT_NE(serving.wait(), 0);
    EXPECT_NE(serving.errors().find(word), std::string::npos) << word;
  }
}

}  // namespace
}  // namespace lintel::test
