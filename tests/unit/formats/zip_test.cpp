// Archives out, read by other programs; archives in, made by another program, many in bad faith.
#include <gtest/gtest.h>

#include <cstdlib>
#include <map>
#include <string>
#include <vector>

#include "formats/zip_reader.h"
#include "formats/zip_writer.h"
#include "support/temporary_folder.h"

namespace lintel::formats {
namespace {

namespace fs = std::filesystem;

class Zip : public ::testing::Test {
 protected:
  // Runs Python with `path` = the file to write; zipfile and struct are there.
  fs::path python(const std::string& code) {
    const fs::path file = folder_ / ("made-" + std::to_string(count_++) + ".zip");
    const fs::path script = folder_ / "make.py";
    test::write_bytes(script,
                      "import sys, zipfile, struct, io, warnings\nwarnings.simplefilter('ignore')\n"
                      "path = sys.argv[1]\n" +
                          code + "\n");
    const std::string command = "python3 '" + script.string() + "' '" + file.string() + "' 2>&1";
    EXPECT_EQ(std::system(command.c_str()), 0) << code;
    return file;
  }
  static std::string one_entry(const std::string& name, const std::string& bytes = "b'x'") {
    return "z = zipfile.ZipFile(path, 'w')\ni = zipfile.ZipInfo(" + name + ")\nz.writestr(i, " +
           bytes + ")\nz.close()\n";
  }
  static Result<void> read_all(const fs::path& file, const ZipLimits& limits = {}) {
    const ZipReader zip = LINTEL_TRY(ZipReader::open(file, limits));
    for (const ZipEntry& entry : zip.entries()) {
      LINTEL_TRY_VOID(zip.read(entry, [](std::string_view) { return Result<void>{}; }));
    }
    return {};
  }
  void expect_refused(const fs::path& file, ErrorCode code, const std::string& words,
                      const ZipLimits& limits = {}) {
    const auto read = read_all(file, limits);
    ASSERT_FALSE(read) << words;
    EXPECT_EQ(read.error().code, code) << read.error();
    EXPECT_NE(read.error().message.find(words), std::string::npos) << read.error();
    EXPECT_FALSE(read.error().mend.empty()) << read.error();
  }

  test::TemporaryFolder folder_;
  int count_ = 0;
};

TEST_F(Zip, WrittenIsReadByUnzipAndPython) {
  const fs::path file = folder_ / "out.zip", clip = folder_ / "clip.mp4";
  test::write_bytes(clip, std::string(300'000, 'm'));
  auto zip = ZipWriter::create(file, "2026-03-09T07:05:31.123Z");
  ASSERT_TRUE(zip) << zip.error();
  ASSERT_TRUE(zip->add_text("README.txt", "Ångström\n"));
  ASSERT_TRUE(zip->add_text("records/Åse Brinvik.json", "{}"));
  ASSERT_TRUE(zip->add_file("media/clip.mp4", clip, ZipWriter::Packing::Store));
  ASSERT_TRUE(zip->add_file("media/packed.mp4", clip, ZipWriter::Packing::Deflate));
  EXPECT_FALSE(fs::exists(file));
  ASSERT_TRUE(zip->commit());
  EXPECT_EQ(fs::status(file).permissions(), fs::perms::owner_read | fs::perms::owner_write);

  EXPECT_EQ(std::system(("unzip -tqq '" + file.string() + "'").c_str()), 0);
  const fs::path script = folder_ / "read.py";
  test::write_bytes(script, R"(
import sys, zipfile
z = zipfile.ZipFile(sys.argv[1])
assert z.testzip() is None
assert z.namelist() == ['README.txt', 'records/Åse Brinvik.json', 'media/clip.mp4', 'media/packed.mp4']
assert z.read('README.txt').decode() == 'Ångström\n'
assert z.read('media/packed.mp4') == b'm' * 300000
stored, packed = z.getinfo('media/clip.mp4'), z.getinfo('media/packed.mp4')
assert stored.compress_size == 300000 and packed.compress_size < 3000
assert stored.date_time == (2026, 3, 9, 7, 5, 30) and stored.external_attr >> 16 == 0o100600
)");
  EXPECT_EQ(std::system(("python3 '" + script.string() + "' '" + file.string() + "'").c_str()), 0);

  const auto back = ZipReader::open(file);
  ASSERT_TRUE(back) << back.error();
  ASSERT_EQ(back->entries().size(), 4U);
  EXPECT_EQ(back->read_text(*back->find("README.txt"), 100).value(), "Ångström\n");
  const fs::path out = back->unpack(*back->find("media/packed.mp4"), folder_ / "to").value();
  EXPECT_EQ(test::file_bytes(out), std::string(300'000, 'm'));
  EXPECT_EQ(back->find("media/none"), nullptr);
}

TEST_F(Zip, WriterLeavesNothingWithoutCommitAndTakesNoBadNames) {
  const fs::path file = folder_ / "out.zip";
  {
    auto zip = ZipWriter::create(file, "2026-03-09T07:05:31.123Z");
    ASSERT_TRUE(zip->add_text("a", "b"));
    EXPECT_EQ(zip->add_text("a", "b").error().code, ErrorCode::Invalid);
    EXPECT_EQ(zip->add_text("../a", "b").error().code, ErrorCode::Invalid);
  }
  EXPECT_TRUE(fs::is_empty(folder_.path()));
  test::write_bytes(file, "mine");
  EXPECT_EQ(ZipWriter::create(file, "").error().code, ErrorCode::Conflict);
  EXPECT_EQ(ZipWriter::create(folder_ / "none" / "out.zip", "").error().code, ErrorCode::NotFound);
}

TEST_F(Zip, RefusesNamesThatLeadElsewhere) {
  const std::map<std::string, std::string> cases = {
      {"'../../etc/passwd'", "leads out of its folder"},
      {"'media/../../x'", "leads out of its folder"},
      {"'./x'", "leads out of its folder"},
      {"'/etc/passwd'", "is absolute"},
      {"'media//x'", "has an empty part"},
      {"'C:/x'", "has a colon"},
      {"'aux.txt '", "ends with a point or space"},
      {"'media/x.'", "ends with a point or space"},
      {"'a\\x1b[2J'", "has a control character"},
      {"'a' * 300", "is longer than 240 bytes"},
  };
  for (const auto& [name, words] : cases) {
    SCOPED_TRACE(name);
    expect_refused(python(one_entry(name)), ErrorCode::Invalid, words);
  }
  // zipfile turns a backslash around on its own: put it in behind its back.
  const std::string bytes = test::file_bytes(python(one_entry("'media@x'")));
  std::string changed = bytes;
  for (std::size_t at = changed.find('@'); at != std::string::npos; at = changed.find('@')) {
    changed[at] = '\\';
  }
  const fs::path file = folder_ / "backslash.zip";
  test::write_bytes(file, changed);
  expect_refused(file, ErrorCode::Invalid, "has a backslash");
  // Latin-1, without and with the mark that says it is UTF-8.
  std::string latin = bytes;
  for (std::size_t at = latin.find('@'); at != std::string::npos; at = latin.find('@')) {
    latin[at] = '\xe5';
  }
  test::write_bytes(file, latin);
  expect_refused(file, ErrorCode::Invalid, "is not UTF-8");
}

TEST_F(Zip, RefusesTheSameNameTwice) {
  const auto twice = [&](const std::string& second) {
    return python(
        "z = zipfile.ZipFile(path, 'w')\nz.writestr('media/a.txt', 'one')\n"
        "z.writestr('" +
        second + "', 'two')\nz.close()\n");
  };
  expect_refused(twice("Media/A.TXT"), ErrorCode::Invalid, "is in the archive twice");
  EXPECT_EQ(read_all(twice("media/a.txt")).error().code, ErrorCode::Invalid);
  EXPECT_TRUE(read_all(twice("media/b.txt")));
}

TEST_F(Zip, RefusesLinksAndDevices) {
  for (const char* type : {"0o120777", "0o020666", "0o010666"}) {
    expect_refused(python("z = zipfile.ZipFile(path, 'w')\ni = zipfile.ZipInfo('media/x')\n"
                          "i.create_system = 3\ni.external_attr = " +
                          std::string(type) + " << 16\nz.writestr(i, '/etc/passwd')\nz.close()\n"),
                   ErrorCode::Invalid, "is a link or a device");
  }
}

TEST_F(Zip, RefusesWhatUnpacksToTooMuch) {
  const std::string bomb =
      "z = zipfile.ZipFile(path, 'w', zipfile.ZIP_DEFLATED)\nz.writestr('a.json', bytes(20 << "
      "20))\n"
      "z.close()\n";
  expect_refused(python(bomb), ErrorCode::Limit, "times when it is unpacked");
  // Two gigabytes of JSON: a piece that is packed once, and comes 2048 times.
  const fs::path large = python(
      "import zlib\npiece = b'[' * (1 << 20)\nc = zlib.compressobj(9, zlib.DEFLATED, -15)\n"
      "packed = c.compress(piece) + c.flush(zlib.Z_FULL_FLUSH)\nend = c.flush()\ncrc = 0\n"
      "for i in range(2048): crc = zlib.crc32(piece, crc)\n"
      "n, size = b'manifest.json', 2048 * len(packed) + len(end)\n"
      "mid = struct.pack('<HHHHHIIIHH', 20, 0, 8, 0, 0x5c69, crc, size, 2048 << 20, len(n), 0)\n"
      "with open(path, 'wb') as f:\n"
      "    f.write(b'PK\\x03\\x04' + mid + n)\n"
      "    for i in range(2048): f.write(packed)\n"
      "    f.write(end)\n    at = f.tell()\n"
      "    d = b'PK\\x01\\x02\\x14\\x00' + mid + struct.pack('<HHHII', 0, 0, 0, 0, 0) + n\n"
      "    f.write(d + b'PK\\x05\\x06' + struct.pack('<HHHHIIH', 0, 0, 1, 1, len(d), at, 0))\n"
      "i = zipfile.ZipFile(path).infolist()[0]\nassert i.file_size == 1 << 31, i\n");
  expect_refused(large, ErrorCode::Limit, "times when it is unpacked");
  ZipLimits any_ratio;
  any_ratio.ratio = 1'000'000;
  const auto generous = ZipReader::open(large, any_ratio);
  ASSERT_TRUE(generous) << generous.error();
  EXPECT_EQ(generous->read_text(generous->entries().front(), 32 << 20).error().code,
            ErrorCode::Limit);
  ZipLimits limits;
  limits.entry_bytes = 1000;
  limits.total_bytes = 1500;
  limits.entries = 3;
  expect_refused(python(one_entry("'a'", "bytes(1001)")), ErrorCode::Limit, "unpacks to", limits);
  expect_refused(python("z = zipfile.ZipFile(path, 'w')\nz.writestr('a', bytes(900))\n"
                        "z.writestr('b', bytes(900))\nz.close()\n"),
                 ErrorCode::Limit, "all entries unpack", limits);
  expect_refused(python("z = zipfile.ZipFile(path, 'w')\n"
                        "for i in range(4): z.writestr(str(i), 'x')\nz.close()\n"),
                 ErrorCode::Limit, "4 entries", limits);
  limits.archive_bytes = 50;
  expect_refused(python(one_entry("'a'")), ErrorCode::Limit, "the file has", limits);
  const auto zip = ZipReader::open(python(one_entry("'a'", "bytes(200)")));
  EXPECT_EQ(zip->read_text(zip->entries().front(), 199).error().code, ErrorCode::Limit);
}

TEST_F(Zip, RefusesADirectoryThatLies) {
  // The directory says 10 bytes where 5000 come out: in the local header and in the directory.
  const std::string lie =
      "b = io.BytesIO()\nz = zipfile.ZipFile(b, 'w', zipfile.ZIP_DEFLATED)\n"
      "z.writestr('a.json', bytes(5000))\nz.close()\nd = bytearray(b.getvalue())\n"
      "d[22:26] = struct.pack('<I', 10)\nc = d.index(b'PK\\x01\\x02')\n"
      "d[c+24:c+28] = struct.pack('<I', 10)\nopen(path, 'wb').write(d)\n";
  const auto lied = read_all(python(lie));
  ASSERT_FALSE(lied);
  EXPECT_EQ(lied.error().code, ErrorCode::Invalid) << lied.error();
  // Another name in the local header than in the directory.
  const auto two_names = read_all(
      python("b = io.BytesIO()\nz = zipfile.ZipFile(b, 'w')\nz.writestr('good', 'x')\nz.close()\n"
             "d = bytearray(b.getvalue())\nd[30:34] = b'evil'\nopen(path, 'wb').write(d)\n"));
  ASSERT_FALSE(two_names);
  EXPECT_EQ(two_names.error().code, ErrorCode::Invalid);
  // A byte of the content changed: the checksum tells.
  const auto changed = read_all(python(
      "b = io.BytesIO()\nz = zipfile.ZipFile(b, 'w')\nz.writestr('a', 'some words')\nz.close()\n"
      "d = b.getvalue().replace(b'some words', b'more words')\nopen(path, 'wb').write(d)\n"));
  ASSERT_FALSE(changed);
  EXPECT_EQ(changed.error().code, ErrorCode::Invalid);
}

TEST_F(Zip, RefusesWhatIsNoWholeZip) {
  const std::string whole = test::file_bytes(python(one_entry("'a'", "b'some words' * 100")));
  const fs::path file = folder_ / "cut.zip";
  for (std::size_t size = 0; size < whole.size(); size += 37) {
    test::write_bytes(file, whole.substr(0, size));
    const auto read = read_all(file);
    ASSERT_FALSE(read) << size;
    EXPECT_EQ(read.error().code, ErrorCode::Invalid) << size << read.error();
  }
  test::write_bytes(file, "%PDF-1.7 a page");
  expect_refused(file, ErrorCode::Invalid, "not a whole zip archive");
  EXPECT_EQ(read_all(folder_ / "none.zip").error().code, ErrorCode::NotFound);
  EXPECT_EQ(read_all(folder_.path()).error().code, ErrorCode::Invalid);
}

TEST_F(Zip, RefusesEncryptionAndPackingThatItDoesNotKnow) {
  expect_refused(python("z = zipfile.ZipFile(path, 'w', zipfile.ZIP_LZMA)\n"
                        "z.writestr('a', 'some words' * 50)\nz.close()\n"),
                 ErrorCode::Unsupported, "another method");
  expect_refused(python("b = io.BytesIO()\nz = zipfile.ZipFile(b, 'w')\nz.writestr('a', 'x' * 20)\n"
                        "z.close()\nd = bytearray(b.getvalue())\nd[6] |= 1\n"
                        "c = d.index(b'PK\\x01\\x02')\nd[c+8] |= 1\nopen(path, 'wb').write(d)\n"),
                 ErrorCode::Unsupported, "is encrypted");
}

TEST_F(Zip, TakesFoldersAndEmptyArchives) {
  const auto zip = ZipReader::open(python(
      "z = zipfile.ZipFile(path, 'w')\nz.writestr('media/', '')\nz.writestr('media/a', 'x')\n"
      "z.close()\n"));
  ASSERT_TRUE(zip) << zip.error();
  ASSERT_EQ(zip->entries().size(), 1U);
  EXPECT_EQ(zip->entries().front().name, "media/a");
  const auto empty = ZipReader::open(python("zipfile.ZipFile(path, 'w').close()\n"));
  ASSERT_TRUE(empty) << empty.error();
  EXPECT_TRUE(empty->entries().empty());
}

}  // namespace
}  // namespace lintel::formats
