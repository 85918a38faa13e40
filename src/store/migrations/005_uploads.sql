-- Uploads in pieces and hand-offs to a phone (store/uploads.h). Of a secret only the hash is kept.
CREATE TABLE uploads (
  id {text} NOT NULL PRIMARY KEY,
  organization {text} NOT NULL,
  created_by {text} NOT NULL,
  hand_off {text} NOT NULL,
  athlete {text} NOT NULL,
  name {text} NOT NULL,
  bytes {bigint} NOT NULL,
  expected_sha256 {text} NOT NULL,
  sha256 {text} NOT NULL,
  media_type {text} NOT NULL,
  created_at {text} NOT NULL,
  expires_at {text} NOT NULL
){strict};
CREATE INDEX uploads_by_expiry ON uploads (expires_at);
CREATE INDEX uploads_by_digest ON uploads (sha256);
CREATE INDEX uploads_of_person ON uploads (organization, created_by);

CREATE TABLE hand_offs (
  id {text} NOT NULL PRIMARY KEY,
  organization {text} NOT NULL,
  athlete {text} NOT NULL,
  visit {text} NOT NULL,
  created_by {text} NOT NULL,
  creator_role {text} NOT NULL,
  secret_sha256 {text} NOT NULL UNIQUE,
  created_at {text} NOT NULL,
  expires_at {text} NOT NULL,
  spent_at {text} NOT NULL,
  trial {text} NOT NULL
){strict};
CREATE INDEX hand_offs_by_expiry ON hand_offs (expires_at);
