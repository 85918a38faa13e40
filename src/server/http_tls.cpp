#include "server/http_tls.h"

#include <fcntl.h>
#include <openssl/bio.h>
#include <openssl/ec.h>
#include <openssl/err.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/rand.h>
#include <openssl/ssl.h>
#include <openssl/x509v3.h>
#include <unistd.h>
#include <algorithm>
#include <cstdio>
#include <memory>

namespace lintel::server {
namespace {

template <typename T, void (*F)(T*)>
struct Release {
  void operator()(T* thing) const { F(thing); }
};
using Certificate = std::unique_ptr<X509, Release<X509, X509_free>>;
using Key = std::unique_ptr<EVP_PKEY, Release<EVP_PKEY, EVP_PKEY_free>>;
using Context = std::unique_ptr<SSL_CTX, Release<SSL_CTX, SSL_CTX_free>>;
using Extension = std::unique_ptr<X509_EXTENSION, Release<X509_EXTENSION, X509_EXTENSION_free>>;
using Memory = std::unique_ptr<BIO, Release<BIO, BIO_free_all>>;

constexpr int kDays = 397;  // the longest that browsers accept of anybody
constexpr long kRenewSeconds = 30L * 24 * 3600;

tl::unexpected<Error> file_fault(ErrorCode code, const std::filesystem::path& file,
                                 std::string message, std::string mend) {
  ERR_clear_error();
  return fail(Error{code, std::move(message), {file.string(), 0, 0, "", -1}, std::move(mend), {}});
}

tl::unexpected<Error> library_fault() {
  ERR_clear_error();
  return fail(ErrorCode::Internal, "the TLS library could not make a certificate");
}

Result<Certificate> read_certificate(const std::filesystem::path& file) {
  std::FILE* in = std::fopen(file.c_str(), "rb");
  if (in == nullptr) {
    return file_fault(ErrorCode::NotFound, file, "cannot be read", "name a certificate in PEM");
  }
  Certificate certificate(PEM_read_X509(in, nullptr, nullptr, nullptr));
  std::fclose(in);
  if (!certificate) {
    return file_fault(ErrorCode::Invalid, file, "holds no certificate", "name one in PEM");
  }
  return certificate;
}

std::string fingerprint_of(const X509* certificate) {
  unsigned char digest[EVP_MAX_MD_SIZE];
  unsigned int length = 0;
  X509_digest(certificate, EVP_sha256(), digest, &length);
  std::string text;
  char two[4];
  for (unsigned int i = 0; i < length; ++i) {
    std::snprintf(two, sizeof two, "%02X", digest[i]);
    text += (i > 0 ? ":" : "") + std::string(two);
  }
  return text;
}

std::string expiry_of(const X509* certificate) {
  std::tm parts = {};
  if (ASN1_TIME_to_tm(X509_get0_notAfter(certificate), &parts) != 1) return {};
  char day[32];
  std::snprintf(day, sizeof day, "%04d-%02d-%02d", parts.tm_year + 1900, parts.tm_mon + 1,
                parts.tm_mday);
  return day;
}

bool covers(X509* certificate, const std::vector<std::string>& names,
            const std::vector<std::string>& addresses) {
  std::time_t until = std::time(nullptr) + kRenewSeconds;
  if (X509_cmp_time(X509_get0_notAfter(certificate), &until) <= 0) return false;
  const bool all_names = std::all_of(names.begin(), names.end(), [&](const std::string& name) {
    return X509_check_host(certificate, name.c_str(), name.size(), 0, nullptr) == 1;
  });
  return all_names &&
         std::all_of(addresses.begin(), addresses.end(), [&](const std::string& address) {
           return X509_check_ip_asc(certificate, address.c_str(), 0) == 1;
         });
}

bool extend(X509* certificate, int what, const std::string& value) {
  X509V3_CTX context;
  X509V3_set_ctx_nodb(&context);
  X509V3_set_ctx(&context, certificate, certificate, nullptr, nullptr, 0);
  const Extension extension(X509V3_EXT_conf_nid(nullptr, &context, what, value.c_str()));
  return extension && X509_add_ext(certificate, extension.get(), -1) == 1;
}

// A random serial number of 16 bytes, positive.
bool set_serial(X509* certificate) {
  unsigned char bytes[16];
  if (RAND_bytes(bytes, sizeof bytes) != 1) return false;
  bytes[0] &= 0x7f;
  BIGNUM* number = BN_bin2bn(bytes, sizeof bytes, nullptr);
  const bool set = number != nullptr &&
                   BN_to_ASN1_INTEGER(number, X509_get_serialNumber(certificate)) != nullptr;
  BN_free(number);
  return set;
}

Result<Certificate> sign_own(EVP_PKEY* key, const std::vector<std::string>& names,
                             const std::vector<std::string>& addresses) {
  Certificate certificate(X509_new());
  if (!certificate || X509_set_version(certificate.get(), 2) != 1 ||
      !set_serial(certificate.get())) {
    return library_fault();
  }
  X509_gmtime_adj(X509_getm_notBefore(certificate.get()), -3600);  // clocks differ a little
  X509_gmtime_adj(X509_getm_notAfter(certificate.get()), kDays * 24L * 3600L);
  X509_set_pubkey(certificate.get(), key);
  X509_NAME* name = X509_get_subject_name(certificate.get());
  X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8,
                             reinterpret_cast<const unsigned char*>("Lintel on this machine"), -1,
                             -1, 0);
  X509_set_issuer_name(certificate.get(), name);
  std::string all;
  for (const std::string& one : names) all += (all.empty() ? "DNS:" : ",DNS:") + one;
  for (const std::string& one : addresses) all += (all.empty() ? "IP:" : ",IP:") + one;
  const bool sound = extend(certificate.get(), NID_basic_constraints, "critical,CA:FALSE") &&
                     extend(certificate.get(), NID_key_usage, "critical,digitalSignature") &&
                     extend(certificate.get(), NID_ext_key_usage, "serverAuth") &&
                     extend(certificate.get(), NID_subject_alt_name, all) &&
                     X509_sign(certificate.get(), key, EVP_sha256()) > 0;
  if (!sound) return library_fault();
  return certificate;
}

// A new file that its owner alone can read, in place of one that is there.
Result<void> write_private(const std::filesystem::path& file, BIO* text) {
  char* bytes = nullptr;
  const long length = BIO_get_mem_data(text, &bytes);
  const std::filesystem::path pending = file.string() + ".new";
  const int out = ::open(pending.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
  const bool written = out >= 0 &&
                       ::write(out, bytes, static_cast<std::size_t>(length)) == length &&
                       ::fsync(out) == 0;
  if (out >= 0) ::close(out);
  std::error_code error;
  if (written) std::filesystem::rename(pending, file, error);
  if (!written || error) {
    return file_fault(ErrorCode::Io, file, "cannot be written", "check the folder's permissions");
  }
  return {};
}

int choose_protocol(SSL*, const unsigned char** out, unsigned char* out_length,
                    const unsigned char* in, unsigned int in_length, void*) {
  static constexpr unsigned char kOurs[] = {8, 'h', 't', 't', 'p', '/', '1', '.', '1'};
  unsigned char* chosen = nullptr;
  if (SSL_select_next_proto(&chosen, out_length, kOurs, sizeof kOurs, in, in_length) !=
      OPENSSL_NPN_NEGOTIATED) {
    return SSL_TLSEXT_ERR_NOACK;
  }
  *out = chosen;
  return SSL_TLSEXT_ERR_OK;
}

}  // namespace

Result<ssl_ctx_st*> make_tls_context(const std::filesystem::path& certificate,
                                     const std::filesystem::path& key) {
  LINTEL_TRY(read_certificate(certificate));
  Context context(SSL_CTX_new(TLS_server_method()));
  if (!context) return fail(ErrorCode::Internal, "the TLS library did not start");
  SSL_CTX_set_min_proto_version(context.get(), TLS1_2_VERSION);
  SSL_CTX_set_options(context.get(), SSL_OP_NO_RENEGOTIATION | SSL_OP_NO_COMPRESSION |
                                         SSL_OP_CIPHER_SERVER_PREFERENCE);
  SSL_CTX_set_mode(context.get(), SSL_MODE_RELEASE_BUFFERS);
  SSL_CTX_set_alpn_select_cb(context.get(), choose_protocol, nullptr);
  if (SSL_CTX_use_certificate_chain_file(context.get(), certificate.c_str()) != 1) {
    return file_fault(ErrorCode::Invalid, certificate, "is not a chain of certificates in PEM",
                      "name a PEM file with the certificate first");
  }
  if (SSL_CTX_use_PrivateKey_file(context.get(), key.c_str(), SSL_FILETYPE_PEM) != 1 ||
      SSL_CTX_check_private_key(context.get()) != 1) {
    return file_fault(ErrorCode::Invalid, key, "is not the key of the certificate",
                      "name its private key in PEM, without a passphrase");
  }
  return context.release();
}

Result<MadeCertificate> own_certificate(const std::filesystem::path& folder,
                                        const std::vector<std::string>& names,
                                        const std::vector<std::string>& addresses) {
  MadeCertificate made;
  made.certificate = folder / "tls" / "certificate.pem";
  made.key = folder / "tls" / "key.pem";
  if (const Result<Certificate> old = read_certificate(made.certificate)) {
    if (covers(old->get(), names, addresses) && std::filesystem::exists(made.key)) {
      made.sha256 = fingerprint_of(old->get());
      made.expires = expiry_of(old->get());
      return made;
    }
  }
  std::error_code error;
  std::filesystem::create_directories(folder / "tls", error);
  std::filesystem::permissions(folder / "tls", std::filesystem::perms::owner_all, error);
  const Key key(EVP_EC_gen("P-256"));
  if (!key) return library_fault();
  const Certificate certificate = LINTEL_TRY(sign_own(key.get(), names, addresses));
  const Memory key_text(BIO_new(BIO_s_mem()));
  const Memory certificate_text(BIO_new(BIO_s_mem()));
  if (!key_text || !certificate_text ||
      PEM_write_bio_PrivateKey(key_text.get(), key.get(), nullptr, nullptr, 0, nullptr, nullptr) !=
          1 ||
      PEM_write_bio_X509(certificate_text.get(), certificate.get()) != 1) {
    return library_fault();
  }
  LINTEL_TRY_VOID(write_private(made.key, key_text.get()));
  LINTEL_TRY_VOID(write_private(made.certificate, certificate_text.get()));
  made.sha256 = fingerprint_of(certificate.get());
  made.expires = expiry_of(certificate.get());
  made.fresh = true;
  return made;
}

Result<std::string> certificate_fingerprint(const std::filesystem::path& certificate) {
  const Certificate read = LINTEL_TRY(read_certificate(certificate));
  return fingerprint_of(read.get());
}

}  // namespace lintel::server
