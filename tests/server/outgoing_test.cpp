#include "server/outgoing.h"

#include <gtest/gtest.h>

#include "support/temporary_folder.h"

namespace lintel::server {
namespace {

std::string header(const Outgoing& outgoing, const std::string& name) {
  for (const auto& [key, value] : outgoing.headers) {
    if (key == name) return value;
  }
  return {};
}

class FileAnswer : public ::testing::Test {
 protected:
  FileAnswer() { test::write_bytes(folder_ / "clip.mp4", "0123456789"); }
  Outgoing ask(std::map<std::string, std::string> headers, Method method = Method::Get) {
    Request request;
    request.method = method;
    request.headers = std::move(headers);
    return make_outgoing(request, Response::file(folder_ / "clip.mp4", "video/mp4"));
  }
  static std::string bytes(const Outgoing& out) {
    return out.file.read(out.offset, out.length).value_or("?");
  }
  test::TemporaryFolder folder_;
};

TEST_F(FileAnswer, ServesTheWholeAndSaysThatPartsCanBeHad) {
  const Outgoing out = ask({});
  EXPECT_EQ(out.status, 200);
  EXPECT_EQ(bytes(out), "0123456789");
  EXPECT_EQ(header(out, "content-length"), "10");
  EXPECT_EQ(header(out, "accept-ranges"), "bytes");
  EXPECT_FALSE(header(out, "etag").empty());
}

TEST_F(FileAnswer, ServesAPartAsRfc9110Section15_3_7Says) {
  const Outgoing out = ask({{"range", "bytes=2-5"}});
  EXPECT_EQ(out.status, 206);
  EXPECT_EQ(bytes(out), "2345");
  EXPECT_EQ(header(out, "content-length"), "4");
  EXPECT_EQ(header(out, "content-range"), "bytes 2-5/10");
}

TEST_F(FileAnswer, ServesTheWholeWhenTheFileChangedSinceTheFirstPart) {
  const std::string tag = header(ask({}), "etag");
  EXPECT_EQ(ask({{"range", "bytes=2-5"}, {"if-range", tag}}).status, 206);
  EXPECT_EQ(ask({{"range", "bytes=2-5"}, {"if-range", "\"other\""}}).status, 200);
  test::write_bytes(folder_ / "clip.mp4", "01234567890");
  EXPECT_EQ(ask({{"range", "bytes=2-5"}, {"if-range", tag}}).status, 200);
}

TEST_F(FileAnswer, RefusesAPartBehindTheEndAndTellsTheSize) {
  const Outgoing out = ask({{"range", "bytes=10-"}});
  EXPECT_EQ(out.status, 416);
  EXPECT_EQ(header(out, "content-range"), "bytes */10");
  EXPECT_FALSE(out.file.is_open());
}

TEST_F(FileAnswer, RangeCountsForGetAlone) {
  const Outgoing out = ask({{"range", "bytes=2-5"}}, Method::Head);
  EXPECT_EQ(out.status, 200);
  EXPECT_TRUE(out.head);
  EXPECT_EQ(header(out, "content-length"), "10");
}

TEST_F(FileAnswer, IsNotSentToWhoHasIt) {
  const std::string tag = header(ask({}), "etag");
  const Outgoing out = ask({{"if-none-match", tag}});
  EXPECT_EQ(out.status, 304);
  EXPECT_FALSE(out.file.is_open());
  EXPECT_EQ(header(out, "etag"), tag);
  EXPECT_TRUE(header(out, "content-length").empty());
}

TEST(FileAnswers, AMissingFileOrAFolderIs404) {
  EXPECT_EQ(make_outgoing({}, Response::file("/nowhere/clip.mp4", "video/mp4")).status, 404);
  EXPECT_EQ(make_outgoing({}, Response::file("/tmp", "video/mp4")).status, 404);
}

TEST(Head, LeavesOutAHeaderThatHoldsALineBreak) {
  Outgoing out;
  out.headers = {{"location", "/a\r\nset-cookie: x=y"}, {"x-a", "b"}};
  const std::string head = head_of(out, true);
  EXPECT_EQ(head.find("set-cookie"), std::string::npos);
  EXPECT_NE(head.find("x-a: b\r\n"), std::string::npos);
  EXPECT_EQ(head.substr(head.size() - 4), "\r\n\r\n");
}

TEST(HttpDate, IsWrittenAsRfc9110Section5_6_7) {
  EXPECT_EQ(http_date(784111777), "Sun, 06 Nov 1994 08:49:37 GMT");
}

TEST(EventText, FollowsTheEventStreamFormat) {
  // The examples of the HTML standard, section 9.2.6 ("Interpreting an event stream").
  EXPECT_EQ(event_text({"", "", "YHOO\n+2\n10"}), "data: YHOO\ndata: +2\ndata: 10\n\n");
  EXPECT_EQ(event_text({"1", "add", "73857293"}), "id: 1\nevent: add\ndata: 73857293\n\n");
  EXPECT_EQ(event_text({"1\n2", "a\r\nb", "x\r\ny"}), "id: 12\nevent: ab\ndata: x\ndata: y\n\n");
}

}  // namespace
}  // namespace lintel::server
