-- Records: every version stays. `records` has one row for each, with what is true of the newest
-- version; documents are in `record_versions`. A day that is not known is an empty text.
CREATE TABLE records (
  id {text} NOT NULL PRIMARY KEY,
  kind {text} NOT NULL,
  organization {text} NOT NULL,
  athlete {text} REFERENCES records (id),
  parent {text} REFERENCES records (id),
  version {bigint} NOT NULL CHECK (version >= 1),
  state {text} NOT NULL CHECK (state IN ('active', 'archived', 'withdrawn')),
  date {text} NOT NULL,
  created_at {text} NOT NULL,
  created_by {text} NOT NULL,
  changed_at {text} NOT NULL
){strict};

CREATE INDEX records_of_organization ON records (organization, kind, date, created_at, id);

CREATE INDEX records_of_athlete ON records (athlete, date, created_at, id);

CREATE INDEX records_of_athlete_by_kind ON records (athlete, kind, state, date);

CREATE INDEX records_of_parent ON records (parent, date, created_at, id);

CREATE TABLE record_versions (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  version {bigint} NOT NULL CHECK (version >= 1),
  state {text} NOT NULL,
  changed_at {text} NOT NULL,
  changed_by {text} NOT NULL,
  reason {text} NOT NULL,
  sha256 {text} NOT NULL,
  document {text} NOT NULL,
  PRIMARY KEY (record, version)
){strict};

-- Media are files named by their SHA-256; a record keeps what any of its versions refers to.
CREATE TABLE media_references (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  sha256 {text} NOT NULL,
  bytes {bigint} NOT NULL,
  media_type {text} NOT NULL,
  PRIMARY KEY (record, sha256)
){strict};

CREATE INDEX media_references_by_digest ON media_references (sha256);

-- What lists and statistics ask, of the newest version of each record.
-- The last columns of `athletes` follow from the other records of the athlete and are written in
-- the same transaction as those (store/athlete_summary.h).
CREATE TABLE athletes (
  record {text} NOT NULL PRIMARY KEY REFERENCES records (id) ON DELETE CASCADE,
  organization {text} NOT NULL,
  state {text} NOT NULL,
  version {bigint} NOT NULL,
  changed_at {text} NOT NULL,
  taken_in {text} NOT NULL,
  name {text} NOT NULL,
  name_folded {text} NOT NULL,
  birth_date {text} NOT NULL,
  sex {text} NOT NULL,
  tags {text} NOT NULL,
  counted {text} NOT NULL,
  last_visit {text} NOT NULL,
  last_session {text} NOT NULL,
  next_due {text} NOT NULL,
  due_what {text} NOT NULL,
  stalled_from {text} NOT NULL,
  last_trunk_deg {real},
  last_trunk_error_deg {real}
){strict};

CREATE INDEX athletes_by_name ON athletes
  (organization, state, name_folded, record, taken_in, stalled_from, next_due);

CREATE INDEX athletes_by_due ON athletes (organization, state, next_due, name_folded, record);

CREATE INDEX athletes_by_taken_in ON athletes (organization, state, taken_in);

CREATE INDEX athletes_by_stalled ON athletes (organization, state, stalled_from);

CREATE TABLE athlete_tags (
  organization {text} NOT NULL,
  tag {text} NOT NULL,
  athlete {text} NOT NULL REFERENCES athletes (record) ON DELETE CASCADE,
  PRIMARY KEY (organization, tag, athlete)
){strict};

CREATE INDEX athlete_tags_of_athlete ON athlete_tags (athlete);

-- How many athletes each view of the caseload holds, by the day from which they are in it
-- (store/caseload_counts.h); `athletes.counted` says where one is counted.
CREATE TABLE athlete_counts (
  organization {text} NOT NULL,
  view {text} NOT NULL,
  day {text} NOT NULL,
  athletes {bigint} NOT NULL,
  PRIMARY KEY (organization, view, day)
){strict};

-- The words of names, each with all its endings, and who has them: whatever is looked for within a
-- word begins one of its endings.
CREATE TABLE name_words (
  organization {text} NOT NULL,
  word {text} NOT NULL,
  ending {text} NOT NULL,
  PRIMARY KEY (organization, word, ending)
){strict};

CREATE INDEX name_words_by_ending ON name_words (organization, ending, word);

CREATE TABLE athlete_words (
  organization {text} NOT NULL,
  word {text} NOT NULL,
  athlete {text} NOT NULL REFERENCES athletes (record) ON DELETE CASCADE,
  PRIMARY KEY (organization, word, athlete)
){strict};

CREATE INDEX athlete_words_of_athlete ON athlete_words (athlete);

CREATE TABLE test_results (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization {text} NOT NULL,
  athlete {text} NOT NULL,
  protocol {text} NOT NULL,
  side {text} NOT NULL,
  date {text} NOT NULL,
  unit {text} NOT NULL,
  value {real} NOT NULL,
  standard_error {real} NOT NULL
){strict};

CREATE INDEX test_results_of_record ON test_results (record);

CREATE INDEX test_results_of_athlete ON test_results (athlete, protocol, side, date);

CREATE INDEX test_results_of_protocol ON test_results
  (organization, protocol, athlete, side, date);

CREATE TABLE drill_sessions (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization {text} NOT NULL,
  athlete {text} NOT NULL,
  drill {text} NOT NULL,
  date {text} NOT NULL,
  sets {bigint} NOT NULL,
  minutes {real} NOT NULL,
  pain {bigint}
){strict};

CREATE INDEX drill_sessions_of_record ON drill_sessions (record);

CREATE INDEX drill_sessions_of_drill ON drill_sessions (organization, drill, athlete, date);

CREATE TABLE trial_measures (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization {text} NOT NULL,
  athlete {text} NOT NULL,
  measure {text} NOT NULL,
  date {text} NOT NULL,
  unit {text} NOT NULL,
  value {real} NOT NULL,
  standard_error {real} NOT NULL
){strict};

CREATE INDEX trial_measures_of_record ON trial_measures (record);

CREATE INDEX trial_measures_of_athlete ON trial_measures (athlete, measure, date);

CREATE TABLE due_dates (
  record {text} NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  athlete {text} NOT NULL,
  what {text} NOT NULL,
  date {text} NOT NULL
){strict};

CREATE INDEX due_dates_of_record ON due_dates (record);

CREATE INDEX due_dates_of_athlete ON due_dates (athlete, date);
