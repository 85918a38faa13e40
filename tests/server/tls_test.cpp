// TLS as OpenSSL's own command and libcurl see it.
#include <gtest/gtest.h>

#include <array>
#include <cstdio>
#include <filesystem>

#include "server/http_tls.h"
#include "server/line_server.h"
#include "support/temporary_folder.h"

namespace lintel::test {
namespace {

// What a command prints (both outputs) with nothing to read.
std::string output_of(const std::string& command) {
  std::FILE* pipe = ::popen((command + " 2>&1 </dev/null").c_str(), "r");
  if (pipe == nullptr) return {};
  std::string out;
  std::array<char, 4096> piece{};
  std::size_t got = 0;
  while ((got = std::fread(piece.data(), 1, piece.size(), pipe)) > 0) out.append(piece.data(), got);
  ::pclose(pipe);
  return out;
}

class Tls : public ::testing::Test {
 protected:
  Tls() {
    made_ = *server::own_certificate(folder_.path(), {"localhost", "skarnholm.example"},
                                     {"127.0.0.1", "::1"});
    server::ServerOptions options;
    options.tls = server::TlsFiles{made_.certificate, made_.key};
    server_ = std::make_unique<LineServer>(plain_routes(), options);
    place_ = "127.0.0.1:" + std::to_string((*server_)->port());
  }
  std::string s_client(const std::string& more) {
    return output_of("timeout 30 openssl s_client -connect " + place_ + " -CAfile " +
                     made_.certificate.string() + " " + more);
  }
  TemporaryFolder folder_;
  server::MadeCertificate made_;
  std::unique_ptr<LineServer> server_;
  std::string place_;
};

TEST_F(Tls, LibcurlTrustsTheMadeCertificateForItsNamesAlone) {
  HttpClient client = server_->client();
  EXPECT_EQ((*server_)->url(), "https://" + place_);
  const HttpReply distrusted = client.get("/api/v1/hello");
  EXPECT_EQ(distrusted.status, 0);
  client.trust(made_.certificate.string());
  const HttpReply reply = client.get("/api/v1/hello");
  EXPECT_EQ(reply.body, "hello") << reply.fault;
  EXPECT_FALSE(reply.header("strict-transport-security").empty());
  EXPECT_EQ(client.post("/api/v1/echo", std::string(900'000, 'x')).body.size(), 900'000U);
  // Through a name: also the host is checked against the certificate.
  HttpClient by_name("https://localhost:" + std::to_string((*server_)->port()));
  by_name.trust(made_.certificate.string());
  EXPECT_EQ(by_name.get("/api/v1/hello").body, "hello");
}

TEST_F(Tls, OpensslCommandVerifiesChainHostAndAddress) {
  const std::string good = s_client("-verify_return_error -verify_ip 127.0.0.1");
  EXPECT_NE(good.find("Verify return code: 0 (ok)"), std::string::npos) << good;
  EXPECT_NE(s_client("-verify_return_error -verify_hostname skarnholm.example")
                .find("Verify return code: 0 (ok)"),
            std::string::npos);
  EXPECT_EQ(s_client("-verify_return_error -verify_hostname other.example")
                .find("Verify return code: 0 (ok)"),
            std::string::npos);
}

TEST_F(Tls, OldProtocolsAreRefused) {
  EXPECT_NE(s_client("-tls1_3").find("New, TLSv1.3"), std::string::npos);
  EXPECT_NE(s_client("-tls1_2").find("New, TLSv1.2"), std::string::npos);
  EXPECT_EQ(s_client("-tls1_1 -cipher ALL:@SECLEVEL=0").find("New, TLSv1.1"), std::string::npos);
  EXPECT_NE(s_client("-alpn http/1.1").find("ALPN protocol: http/1.1"), std::string::npos);
}

TEST_F(Tls, TheFingerprintIsTheOneThatOpensslPrints) {
  const std::string printed =
      output_of("openssl x509 -noout -fingerprint -sha256 -in " + made_.certificate.string());
  EXPECT_NE(printed.find(made_.sha256), std::string::npos) << printed;
  EXPECT_EQ(*server::certificate_fingerprint(made_.certificate), made_.sha256);
  const std::string text = output_of("openssl x509 -noout -text -in " + made_.certificate.string());
  EXPECT_NE(text.find("DNS:localhost, DNS:skarnholm.example, IP Address:127.0.0.1"),
            std::string::npos);
  EXPECT_NE(text.find("ASN1 OID: prime256v1"), std::string::npos);
}

TEST_F(Tls, APlainRequestOnThePortGetsNoAnswer) {
  EXPECT_EQ(raw_status(server_->raw("GET /api/v1/hello HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")), 0);
  // And the server goes on.
  HttpClient client = server_->client();
  client.trust(made_.certificate.string());
  EXPECT_EQ(client.get("/api/v1/hello").body, "hello");
}

TEST(OwnCertificate, IsKeptWhileItFitsAndItsKeyIsPrivate) {
  TemporaryFolder folder;
  const auto first = *server::own_certificate(folder.path(), {"localhost"}, {"127.0.0.1"});
  EXPECT_TRUE(first.fresh);
  const auto second = *server::own_certificate(folder.path(), {"localhost"}, {"127.0.0.1"});
  EXPECT_FALSE(second.fresh);
  EXPECT_EQ(second.sha256, first.sha256);
  const auto third = *server::own_certificate(folder.path(), {"localhost"}, {"192.0.2.7"});
  EXPECT_TRUE(third.fresh);
  EXPECT_NE(third.sha256, first.sha256);
  EXPECT_EQ(std::filesystem::status(third.key).permissions(),
            std::filesystem::perms::owner_read | std::filesystem::perms::owner_write);
}

TEST(OwnCertificate, OfSomebodyElseMustFitItsKey) {
  TemporaryFolder one, two;
  const auto first = *server::own_certificate(one.path(), {"localhost"}, {});
  const auto second = *server::own_certificate(two.path(), {"localhost"}, {});
  server::ServerOptions options;
  options.tls = server::TlsFiles{first.certificate, second.key};
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::Invalid);
  options.tls = server::TlsFiles{one / "gone.pem", first.key};
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::NotFound);
  write_bytes(one / "noise.pem", "noise");
  options.tls = server::TlsFiles{one / "noise.pem", first.key};
  EXPECT_EQ(server::Server::start(options, {}, {}).error().code, ErrorCode::Invalid);
}

}  // namespace
}  // namespace lintel::test
