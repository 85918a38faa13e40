PRAGMA foreign_keys=OFF;
BEGIN TRANSACTION;
CREATE TABLE schema_migration (version INTEGER PRIMARY KEY, sha256 TEXT NOT NULL, applied_at TEXT NOT NULL) STRICT;
INSERT INTO schema_migration VALUES(1,'054630df8cdd57d8091b787668599220568923536575eb83fcb14447e238c190','2026-11-25T23:43:32Z');
INSERT INTO schema_migration VALUES(2,'56dddc834459a8eb967565eb3b818be6a4a415adcd8c985de1651a6230a72419','2026-11-25T23:43:32Z');
INSERT INTO schema_migration VALUES(3,'1392879c66352dc5cecd3633502eae830d1c2f46f7637ab896538049527cef67','2026-11-25T23:43:32Z');
INSERT INTO schema_migration VALUES(4,'a2f028b17555f0c544ba8de91c1307828810a946a4d33772fc6ce27fb6db0f53','2026-11-25T23:43:32Z');
INSERT INTO schema_migration VALUES(5,'03706533c61d95eca5e93fb8e856cf231de2e0f45750b8d8da10f80462b04f44','2026-11-25T23:43:32Z');
INSERT INTO schema_migration VALUES(6,'bfcf31f3f5aabb678a3817f993ed7170c9d7546492c51aba8de57c7527db27dd','2026-11-25T23:43:32Z');
CREATE TABLE records (
  id TEXT NOT NULL PRIMARY KEY,
  kind TEXT NOT NULL,
  organization TEXT NOT NULL,
  athlete TEXT REFERENCES records (id),
  parent TEXT REFERENCES records (id),
  version INTEGER NOT NULL CHECK (version >= 1),
  state TEXT NOT NULL CHECK (state IN ('active', 'archived', 'withdrawn')),
  date TEXT NOT NULL,
  created_at TEXT NOT NULL,
  created_by TEXT NOT NULL,
  changed_at TEXT NOT NULL
) STRICT;
INSERT INTO records VALUES('11111111-1111-4111-8111-111111111111','organization','11111111-1111-4111-8111-111111111111',NULL,NULL,1,'active','','2026-03-09T07:05:30.123Z','runa','2026-03-09T07:05:30.123Z');
INSERT INTO records VALUES('22222222-2222-4222-8222-222222222222','athlete','11111111-1111-4111-8111-111111111111','22222222-2222-4222-8222-222222222222',NULL,2,'active','','2026-03-09T07:05:30.123Z','runa','2026-03-09T07:05:30.123Z');
INSERT INTO records VALUES('33333333-3333-4333-8333-333333333333','tests','11111111-1111-4111-8111-111111111111','22222222-2222-4222-8222-222222222222','22222222-2222-4222-8222-222222222222',1,'active','2026-03-09','2026-03-09T07:05:30.123Z','runa','2026-03-09T07:05:30.123Z');
CREATE TABLE record_versions (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  version INTEGER NOT NULL CHECK (version >= 1),
  state TEXT NOT NULL,
  changed_at TEXT NOT NULL,
  changed_by TEXT NOT NULL,
  reason TEXT NOT NULL,
  sha256 TEXT NOT NULL,
  document TEXT NOT NULL,
  PRIMARY KEY (record, version)
) STRICT;
INSERT INTO record_versions VALUES('11111111-1111-4111-8111-111111111111',1,'active','2026-03-09T07:05:30.123Z','runa','','be9767fddb0cb88633d34f19d304e60c936f0ae02086554cecf4e6f753aecb58','{"name":"Skarnholm"}');
INSERT INTO record_versions VALUES('22222222-2222-4222-8222-222222222222',1,'active','2026-03-09T07:05:30.123Z','runa','','2b56d81a480401c568c1a511009c467eb89369b6a5e40c24db98fe73e85a1b35','{"name":"Ansa Brinvik"}');
INSERT INTO record_versions VALUES('22222222-2222-4222-8222-222222222222',2,'active','2026-03-09T07:05:30.123Z','runa','spelling','6813df4519f9a7fd9c91a7cd07fb6595d84a419b2b09e3c0eabec7445efadffa','{"name":"Ansa Brïnvik"}');
INSERT INTO record_versions VALUES('33333333-3333-4333-8333-333333333333',1,'active','2026-03-09T07:05:30.123Z','runa','','44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a','{}');
CREATE TABLE media_references (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  sha256 TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  media_type TEXT NOT NULL,
  PRIMARY KEY (record, sha256)
) STRICT;
INSERT INTO media_references VALUES('33333333-3333-4333-8333-333333333333','aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa',7,'image/png');
CREATE TABLE athletes (
  record TEXT NOT NULL PRIMARY KEY REFERENCES records (id) ON DELETE CASCADE,
  organization TEXT NOT NULL,
  state TEXT NOT NULL,
  version INTEGER NOT NULL,
  changed_at TEXT NOT NULL,
  taken_in TEXT NOT NULL,
  name TEXT NOT NULL,
  name_folded TEXT NOT NULL,
  birth_date TEXT NOT NULL,
  sex TEXT NOT NULL,
  tags TEXT NOT NULL,
  counted TEXT NOT NULL,
  last_visit TEXT NOT NULL,
  last_session TEXT NOT NULL,
  next_due TEXT NOT NULL,
  due_what TEXT NOT NULL,
  stalled_from TEXT NOT NULL,
  last_trunk_deg REAL,
  last_trunk_error_deg REAL
) STRICT;
INSERT INTO athletes VALUES('22222222-2222-4222-8222-222222222222','11111111-1111-4111-8111-111111111111','active',2,'2026-03-09T07:05:30.123Z','2026-03-09','Ansa Brinvik','ansa brinvik','1994-05-17','female','masters',replace('active \nnew 2026-03-09\nstalled 2026-04-21\n','\n',char(10)),'','','','','2026-04-21',NULL,NULL);
CREATE TABLE athlete_tags (
  organization TEXT NOT NULL,
  tag TEXT NOT NULL,
  athlete TEXT NOT NULL REFERENCES athletes (record) ON DELETE CASCADE,
  PRIMARY KEY (organization, tag, athlete)
) STRICT;
INSERT INTO athlete_tags VALUES('11111111-1111-4111-8111-111111111111','masters','22222222-2222-4222-8222-222222222222');
CREATE TABLE athlete_counts (
  organization TEXT NOT NULL,
  view TEXT NOT NULL,
  day TEXT NOT NULL,
  athletes INTEGER NOT NULL,
  PRIMARY KEY (organization, view, day)
) STRICT;
INSERT INTO athlete_counts VALUES('11111111-1111-4111-8111-111111111111','active','',1);
INSERT INTO athlete_counts VALUES('11111111-1111-4111-8111-111111111111','new','2026-03-09',1);
INSERT INTO athlete_counts VALUES('11111111-1111-4111-8111-111111111111','stalled','2026-04-21',1);
CREATE TABLE name_words (
  organization TEXT NOT NULL,
  word TEXT NOT NULL,
  ending TEXT NOT NULL,
  PRIMARY KEY (organization, word, ending)
) STRICT;
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','ansa','ansa');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','ansa','nsa');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','ansa','sa');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','ansa','a');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','brinvik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','rinvik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','invik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','nvik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','vik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','ik');
INSERT INTO name_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','k');
CREATE TABLE athlete_words (
  organization TEXT NOT NULL,
  word TEXT NOT NULL,
  athlete TEXT NOT NULL REFERENCES athletes (record) ON DELETE CASCADE,
  PRIMARY KEY (organization, word, athlete)
) STRICT;
INSERT INTO athlete_words VALUES('11111111-1111-4111-8111-111111111111','ansa','22222222-2222-4222-8222-222222222222');
INSERT INTO athlete_words VALUES('11111111-1111-4111-8111-111111111111','brinvik','22222222-2222-4222-8222-222222222222');
CREATE TABLE test_results (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization TEXT NOT NULL,
  athlete TEXT NOT NULL,
  protocol TEXT NOT NULL,
  side TEXT NOT NULL,
  date TEXT NOT NULL,
  unit TEXT NOT NULL,
  value REAL NOT NULL,
  standard_error REAL NOT NULL
) STRICT;
INSERT INTO test_results VALUES('33333333-3333-4333-8333-333333333333','11111111-1111-4111-8111-111111111111','22222222-2222-4222-8222-222222222222','knee_to_wall_distance','left','2026-03-09','cm',9.5,0.69999999999999995559);
CREATE TABLE drill_sessions (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization TEXT NOT NULL,
  athlete TEXT NOT NULL,
  drill TEXT NOT NULL,
  date TEXT NOT NULL,
  sets INTEGER NOT NULL,
  minutes REAL NOT NULL,
  pain INTEGER
) STRICT;
CREATE TABLE trial_measures (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  organization TEXT NOT NULL,
  athlete TEXT NOT NULL,
  measure TEXT NOT NULL,
  date TEXT NOT NULL,
  unit TEXT NOT NULL,
  value REAL NOT NULL,
  standard_error REAL NOT NULL
) STRICT;
CREATE TABLE due_dates (
  record TEXT NOT NULL REFERENCES records (id) ON DELETE CASCADE,
  athlete TEXT NOT NULL,
  what TEXT NOT NULL,
  date TEXT NOT NULL
) STRICT;
CREATE TABLE accounts (
  person TEXT NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  name TEXT NOT NULL,
  login TEXT NOT NULL UNIQUE,
  role TEXT NOT NULL CHECK (role IN ('owner', 'practitioner', 'assistant', 'athlete', 'reviewer')),
  active INTEGER NOT NULL CHECK (active IN (0, 1)),
  version INTEGER NOT NULL,
  passphrase_hash TEXT NOT NULL,
  created_at TEXT NOT NULL,
  changed_at TEXT NOT NULL,
  signed_in_at TEXT NOT NULL
) STRICT;
CREATE TABLE sessions (
  id TEXT NOT NULL PRIMARY KEY,
  digest TEXT NOT NULL UNIQUE,
  person TEXT NOT NULL REFERENCES accounts (person) ON DELETE CASCADE,
  created_at TEXT NOT NULL,
  seen_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  peer TEXT NOT NULL
) STRICT;
CREATE TABLE api_tokens (
  id TEXT NOT NULL PRIMARY KEY,
  digest TEXT NOT NULL UNIQUE,
  person TEXT NOT NULL REFERENCES accounts (person) ON DELETE CASCADE,
  name TEXT NOT NULL,
  scopes TEXT NOT NULL,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  used_at TEXT NOT NULL
) STRICT;
CREATE TABLE invitations (
  person TEXT NOT NULL PRIMARY KEY REFERENCES accounts (person) ON DELETE CASCADE,
  digest TEXT NOT NULL UNIQUE,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL
) STRICT;
CREATE TABLE sign_in_attempts (
  attempt_key TEXT NOT NULL PRIMARY KEY,
  count INTEGER NOT NULL,
  first_at TEXT NOT NULL,
  wait_until TEXT NOT NULL
) STRICT;
CREATE TABLE audit_trail (
  sequence INTEGER NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  at TEXT NOT NULL,
  person TEXT NOT NULL,
  session TEXT NOT NULL,
  peer TEXT NOT NULL,
  action TEXT NOT NULL,
  record TEXT NOT NULL,
  athlete TEXT NOT NULL,
  detail TEXT NOT NULL,
  previous_hash TEXT NOT NULL,
  hash TEXT NOT NULL
) STRICT;
CREATE TABLE audit_head (
  only_one INTEGER NOT NULL PRIMARY KEY CHECK (only_one = 1),
  sequence INTEGER NOT NULL,
  hash TEXT NOT NULL
) STRICT;
INSERT INTO audit_head VALUES(1,0,'0000000000000000000000000000000000000000000000000000000000000000');
CREATE TABLE jobs (
  id TEXT NOT NULL PRIMARY KEY,
  sequence INTEGER NOT NULL,
  kind TEXT NOT NULL,
  organization TEXT NOT NULL,
  athlete TEXT NOT NULL,
  record TEXT NOT NULL,
  created_by TEXT NOT NULL,
  input TEXT NOT NULL,
  output TEXT NOT NULL,
  state TEXT NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
  attempts INTEGER NOT NULL,
  not_before TEXT NOT NULL,
  lease_owner TEXT NOT NULL,
  lease_until TEXT NOT NULL,
  cancel_asked INTEGER NOT NULL,
  stage TEXT NOT NULL,
  done REAL NOT NULL,
  total REAL NOT NULL,
  error_code TEXT NOT NULL,
  error_message TEXT NOT NULL,
  error_mend TEXT NOT NULL,
  created_at TEXT NOT NULL,
  changed_at TEXT NOT NULL,
  started_at TEXT NOT NULL,
  finished_at TEXT NOT NULL
) STRICT;
CREATE TABLE uploads (
  id TEXT NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  created_by TEXT NOT NULL,
  hand_off TEXT NOT NULL,
  athlete TEXT NOT NULL,
  name TEXT NOT NULL,
  bytes INTEGER NOT NULL,
  expected_sha256 TEXT NOT NULL,
  sha256 TEXT NOT NULL,
  media_type TEXT NOT NULL,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL
) STRICT;
CREATE TABLE hand_offs (
  id TEXT NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  athlete TEXT NOT NULL,
  visit TEXT NOT NULL,
  created_by TEXT NOT NULL,
  creator_role TEXT NOT NULL,
  secret_sha256 TEXT NOT NULL UNIQUE,
  created_at TEXT NOT NULL,
  expires_at TEXT NOT NULL,
  spent_at TEXT NOT NULL,
  trial TEXT NOT NULL
) STRICT;
CREATE TABLE once_keys (
  once_key TEXT NOT NULL PRIMARY KEY,
  organization TEXT NOT NULL,
  content TEXT NOT NULL,
  answer TEXT NOT NULL,
  at TEXT NOT NULL
) STRICT;
CREATE INDEX records_of_organization ON records (organization, kind, date, created_at, id);
CREATE INDEX records_of_athlete ON records (athlete, date, created_at, id);
CREATE INDEX records_of_athlete_by_kind ON records (athlete, kind, state, date);
CREATE INDEX records_of_parent ON records (parent, date, created_at, id);
CREATE INDEX media_references_by_digest ON media_references (sha256);
CREATE INDEX athletes_by_name ON athletes
  (organization, state, name_folded, record, taken_in, stalled_from, next_due);
CREATE INDEX athletes_by_due ON athletes (organization, state, next_due, name_folded, record);
CREATE INDEX athletes_by_taken_in ON athletes (organization, state, taken_in);
CREATE INDEX athletes_by_stalled ON athletes (organization, state, stalled_from);
CREATE INDEX athlete_tags_of_athlete ON athlete_tags (athlete);
CREATE INDEX name_words_by_ending ON name_words (organization, ending, word);
CREATE INDEX athlete_words_of_athlete ON athlete_words (athlete);
CREATE INDEX test_results_of_record ON test_results (record);
CREATE INDEX test_results_of_athlete ON test_results (athlete, protocol, side, date);
CREATE INDEX test_results_of_protocol ON test_results
  (organization, protocol, athlete, side, date);
CREATE INDEX drill_sessions_of_record ON drill_sessions (record);
CREATE INDEX drill_sessions_of_drill ON drill_sessions (organization, drill, athlete, date);
CREATE INDEX trial_measures_of_record ON trial_measures (record);
CREATE INDEX trial_measures_of_athlete ON trial_measures (athlete, measure, date);
CREATE INDEX due_dates_of_record ON due_dates (record);
CREATE INDEX due_dates_of_athlete ON due_dates (athlete, date);
CREATE INDEX accounts_of_organization ON accounts (organization, name);
CREATE INDEX sessions_of_person ON sessions (person);
CREATE INDEX sessions_by_expiry ON sessions (expires_at);
CREATE INDEX api_tokens_of_person ON api_tokens (person);
CREATE INDEX sign_in_attempts_by_time ON sign_in_attempts (first_at);
CREATE INDEX audit_trail_of_organization ON audit_trail (organization, sequence);
CREATE INDEX audit_trail_of_session ON audit_trail (session, record, action, at);
CREATE INDEX audit_trail_of_athlete ON audit_trail (athlete, sequence);
CREATE TRIGGER audit_trail_keeps_rows BEFORE UPDATE ON audit_trail
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;
CREATE TRIGGER audit_trail_loses_no_rows BEFORE DELETE ON audit_trail
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;
CREATE TRIGGER audit_trail_grows_at_its_end BEFORE INSERT ON audit_trail
WHEN NEW.sequence <> (SELECT COALESCE(MAX(sequence), 0) + 1 FROM audit_trail)
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;
CREATE INDEX jobs_to_take ON jobs (state, not_before, sequence);
CREATE INDEX jobs_of_organization ON jobs (organization, sequence);
CREATE INDEX jobs_of_record ON jobs (record);
CREATE INDEX jobs_of_athlete ON jobs (athlete);
CREATE INDEX uploads_by_expiry ON uploads (expires_at);
CREATE INDEX uploads_by_digest ON uploads (sha256);
CREATE INDEX uploads_of_person ON uploads (organization, created_by);
CREATE INDEX hand_offs_by_expiry ON hand_offs (expires_at);
CREATE INDEX once_keys_by_time ON once_keys (at);
CREATE INDEX once_keys_of_organization ON once_keys (organization);
COMMIT;
