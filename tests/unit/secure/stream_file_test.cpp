#include "secure/stream_file.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <cstdlib>
#include <string>
#include <vector>

#include "support/temporary_folder.h"

namespace lintel::secure {
namespace {

namespace fs = std::filesystem;
using test::file_bytes;
using test::write_bytes;

constexpr std::size_t kHeader = 80;
constexpr std::size_t kPiece = 1024;
constexpr std::size_t kSealed = kPiece + 17;
constexpr StreamFileOptions kQuick{1, 8, kPiece};  // a key in a moment; never for a person
const std::string kWords = "kelp anchor winter bell";

std::string some_bytes(std::size_t size) {
  std::string out(size, '\0');
  std::uint32_t state = 12345;
  for (char& byte : out) {
    state = state * 1664525U + 1013904223U;
    byte = static_cast<char>(state >> 24);
  }
  return out;
}

class StreamFile : public ::testing::Test {
 protected:
  fs::path write(const std::string& plain, const std::string& words = kWords) {
    const fs::path file = folder_ / ("file-" + std::to_string(count_++));
    auto writer = StreamFileWriter::create(file, Passphrase(words), kQuick);
    EXPECT_TRUE(writer) << writer.error();
    // In pieces of odd lengths, so that the edges of the pieces fall anywhere.
    for (std::size_t at = 0; at < plain.size(); at += 777) {
      EXPECT_TRUE(writer->write(std::string_view(plain).substr(at, 777)));
    }
    EXPECT_TRUE(writer->commit());
    return file;
  }

  static Result<std::string> read(const fs::path& file, const std::string& words = kWords) {
    std::string plain;
    auto size = read_stream_file(file, Passphrase(words), [&](std::string_view bytes) {
      plain += bytes;
      return Result<void>{};
    });
    if (!size) return fail(size.error());
    EXPECT_EQ(*size, static_cast<std::int64_t>(plain.size()));
    return plain;
  }

  // Writes these bytes and expects that they are refused with this code.
  void expect_refused(const std::string& bytes, ErrorCode code, const std::string& what) {
    const fs::path file = folder_ / "changed";
    write_bytes(file, bytes);
    const auto plain = read(file);
    ASSERT_FALSE(plain) << what;
    EXPECT_EQ(plain.error().code, code) << what << ": " << plain.error();
  }

  test::TemporaryFolder folder_;
  int count_ = 0;
};

TEST_F(StreamFile, GivesBackWhatWasWrittenAtEveryLengthAroundAPiece) {
  for (const std::size_t size : {std::size_t{0}, std::size_t{1}, kPiece - 1, kPiece, kPiece + 1,
                                 3 * kPiece, 3 * kPiece + 5, std::size_t{100'000}}) {
    const std::string plain = some_bytes(size);
    const fs::path file = write(plain);
    EXPECT_EQ(read(file).value(), plain) << size;
    // Header, the empty piece, whole pieces, the last one that is never whole.
    EXPECT_EQ(fs::file_size(file), kHeader + 17 + size + 17 * (size / kPiece + 1)) << size;
  }
}

TEST_F(StreamFile, IsReadableByItsOwnerAlone) {
  struct stat status {};
  ASSERT_EQ(::stat(write("x").c_str(), &status), 0);
  EXPECT_EQ(status.st_mode & 0777, 0600U);
}

TEST_F(StreamFile, HidesThePlainTextAndNeverRepeatsItself) {
  const std::string plain = "Ansa Brinvik, born 1996-04-12";
  const std::string one = file_bytes(write(plain)), two = file_bytes(write(plain));
  EXPECT_EQ(one.find("Brinvik"), std::string::npos);
  EXPECT_NE(one.substr(24, 56), two.substr(24, 56));  // salt and stream header
  EXPECT_NE(one.substr(kHeader), two.substr(kHeader));
}

TEST_F(StreamFile, RefusesAFlippedBitInAnyRegion) {
  const std::string whole = file_bytes(write(some_bytes(2 * kPiece + 100)));
  for (std::size_t at = 0; at < whole.size(); at += at < 120 ? 1 : 3) {
    std::string changed = whole;
    changed[at] = static_cast<char>(changed[at] ^ (1 << (at % 8)));
    const fs::path file = folder_ / "flipped";
    write_bytes(file, changed);
    const auto plain = read(file);
    ASSERT_FALSE(plain) << "byte " << at;
    // Only damage to the piece that proves the key may be taken for a wrong passphrase.
    const bool proof = at >= kHeader && at < kHeader + 17;
    EXPECT_EQ(plain.error().code, proof ? ErrorCode::Denied : ErrorCode::Invalid)
        << "byte " << at << ": " << plain.error();
  }
}

TEST_F(StreamFile, RefusesAFileThatIsCutAnywhere) {
  const std::string whole = file_bytes(write(some_bytes(2 * kPiece + 100)));
  for (std::size_t size = 0; size < whole.size(); size += size < 120 ? 1 : 3) {
    const fs::path file = folder_ / "cut";
    write_bytes(file, whole.substr(0, size));
    const auto plain = read(file);
    ASSERT_FALSE(plain) << size;
    EXPECT_EQ(plain.error().code, ErrorCode::Invalid) << size << ": " << plain.error();
  }
}

TEST_F(StreamFile, RefusesPiecesMovedLeftOutDoubledOrFromAnotherFile) {
  const std::string plain = some_bytes(4 * kPiece);
  const std::string whole = file_bytes(write(plain)), other = file_bytes(write(plain));
  const std::size_t first = kHeader + 17;
  const auto piece = [&](const std::string& from, std::size_t i) {
    return from.substr(first + i * kSealed, kSealed);
  };
  const std::string head = whole.substr(0, first), tail = whole.substr(first + 2 * kSealed);
  expect_refused(head + piece(whole, 1) + piece(whole, 0) + tail, ErrorCode::Invalid, "moved");
  expect_refused(head + piece(whole, 1) + tail, ErrorCode::Invalid, "left out");
  expect_refused(head + piece(whole, 0) + piece(whole, 0) + piece(whole, 1) + tail,
                 ErrorCode::Invalid, "doubled");
  expect_refused(head + piece(other, 0) + piece(whole, 1) + tail, ErrorCode::Invalid, "foreign");
  expect_refused(whole + "x", ErrorCode::Invalid, "a byte added");
  expect_refused(whole + whole, ErrorCode::Invalid, "the file twice");
  // The header of one file before the pieces of another.
  expect_refused(other.substr(0, kHeader) + whole.substr(kHeader), ErrorCode::Denied, "header");
}

TEST_F(StreamFile, RefusesAWrongPassphraseAndSaysSo) {
  const fs::path file = write("some text");
  const auto plain = read(file, "kelp anchor winter belt");
  ASSERT_FALSE(plain);
  EXPECT_EQ(plain.error().code, ErrorCode::Denied);
  EXPECT_NE(plain.error().message.find("passphrase does not fit"), std::string::npos);
  EXPECT_EQ(file_bytes(file).find("some text"), std::string::npos);
}

TEST_F(StreamFile, RefusesAHeaderThatAsksForTooMuchOrIsNewer) {
  const std::string whole = file_bytes(write("some text"));
  for (const std::size_t at : {std::size_t{8}, std::size_t{12}, std::size_t{16}, std::size_t{20}}) {
    // A header as a newer program would write it: its check sum fits. Made by hand with
    // `python3 -c "hashlib.blake2b(header[:64], digest_size=16)"`.
    std::string changed = whole;
    for (std::size_t i = 0; i < 4; ++i) changed[at + i] = '\x7f';
    const fs::path file = folder_ / "asks";
    write_bytes(file, changed);
    const std::string fix =
        "python3 -c \"import hashlib,sys\nf=open(sys.argv[1],'r+b')\nb=f.read()\nf.seek(64)\n"
        "f.write(hashlib.blake2b(b[:64],digest_size=16).digest())\" '" +
        file.string() + "'";
    ASSERT_EQ(std::system(fix.c_str()), 0);
    const auto plain = read(file);
    ASSERT_FALSE(plain) << at;
    EXPECT_EQ(plain.error().code, ErrorCode::Unsupported) << at << ": " << plain.error();
  }
}

TEST_F(StreamFile, IsReadByAProgramThatKnowsOnlyTheDescription) {
  const std::string plain = some_bytes(5 * kPiece + 321);
  const fs::path file = write(plain), out = folder_ / "out", wrong = folder_ / "wrong";
  const std::string script =
      "python3 '" LINTEL_SOURCE_DIR "/examples/open_backup.py' '" + file.string() + "' > '";
  ASSERT_EQ(
      std::system(("LINTEL_PASSPHRASE='" + kWords + "' " + script + out.string() + "'").c_str()),
      0);
  EXPECT_EQ(file_bytes(out), plain);
  EXPECT_NE(
      std::system(
          ("LINTEL_PASSPHRASE='something else' " + script + wrong.string() + "' 2>&1").c_str()),
      0);
}

TEST_F(StreamFile, LeavesNothingWithoutCommitAndReplacesNothing) {
  const fs::path file = folder_ / "target";
  {
    auto writer = StreamFileWriter::create(file, Passphrase(kWords), kQuick);
    ASSERT_TRUE(writer);
    ASSERT_TRUE(writer->write(some_bytes(5000)));
  }
  EXPECT_TRUE(fs::is_empty(folder_.path()));
  write_bytes(file, "mine");
  EXPECT_EQ(StreamFileWriter::create(file, Passphrase(kWords), kQuick).error().code,
            ErrorCode::Conflict);
  fs::remove(file);
  auto writer = StreamFileWriter::create(file, Passphrase(kWords), kQuick);
  ASSERT_TRUE(writer);
  write_bytes(file, "came meanwhile");
  EXPECT_EQ(writer->commit().error().code, ErrorCode::Conflict);
  EXPECT_EQ(file_bytes(file), "came meanwhile");
}

TEST_F(StreamFile, AsksForALongEnoughPassphrase) {
  for (const std::string& words : {std::string(), std::string("short"), std::string(1025, 'x')}) {
    const auto writer = StreamFileWriter::create(folder_ / "target", Passphrase(words), kQuick);
    ASSERT_FALSE(writer);
    EXPECT_EQ(writer.error().code, ErrorCode::Invalid);
    EXPECT_FALSE(writer.error().mend.empty());
  }
}

TEST_F(StreamFile, StopsOnRequestAndWhenTheSinkFails) {
  const fs::path file = write(some_bytes(10 * kPiece));
  std::stop_source stop;
  stop.request_stop();
  EXPECT_EQ(read_stream_file(file, Passphrase(kWords), {}, WorkContext{stop.get_token(), {}})
                .error()
                .code,
            ErrorCode::Cancelled);
  int calls = 0;
  const auto failing = [&](std::string_view) -> Result<void> {
    ++calls;
    return fail(ErrorCode::Io, "full");
  };
  EXPECT_EQ(read_stream_file(file, Passphrase(kWords), failing).error().code, ErrorCode::Io);
  EXPECT_EQ(calls, 1);
}

TEST(PassphraseFile, IsTakenOnlyWhenItsOwnerAloneCanReadIt) {
  const test::TemporaryFolder folder;
  const fs::path file = folder / "words";
  write_bytes(file, kWords + "\r\nsecond line\n");
  fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
  EXPECT_EQ(read_passphrase_file(file).value().text(), kWords);
  fs::permissions(file, fs::perms::group_read, fs::perm_options::add);
  EXPECT_EQ(read_passphrase_file(file).error().code, ErrorCode::Denied);
  fs::permissions(file, fs::perms::owner_read | fs::perms::owner_write);
  write_bytes(file, "\nafter an empty line");
  EXPECT_EQ(read_passphrase_file(file).error().code, ErrorCode::Invalid);
  write_bytes(file, std::string(5000, 'x'));
  EXPECT_EQ(read_passphrase_file(file).error().code, ErrorCode::Invalid);
  EXPECT_EQ(read_passphrase_file(folder / "none").error().code, ErrorCode::NotFound);
  EXPECT_FALSE(read_passphrase_file(folder.path()));
}

}  // namespace
}  // namespace lintel::secure
