-- The audit trail (store/audit.h): rows are added and never changed; the triggers see to it. The
-- head is noted beside it, so that a row missing at the end is found too.
CREATE TABLE audit_trail (
  sequence {bigint} NOT NULL PRIMARY KEY,
  organization {text} NOT NULL,
  at {text} NOT NULL,
  person {text} NOT NULL,
  session {text} NOT NULL,
  peer {text} NOT NULL,
  action {text} NOT NULL,
  record {text} NOT NULL,
  athlete {text} NOT NULL,
  detail {text} NOT NULL,
  previous_hash {text} NOT NULL,
  hash {text} NOT NULL
){strict};

CREATE INDEX audit_trail_of_organization ON audit_trail (organization, sequence);

CREATE INDEX audit_trail_of_session ON audit_trail (session, record, action, at);

CREATE INDEX audit_trail_of_athlete ON audit_trail (athlete, sequence);

CREATE TABLE audit_head (
  only_one {bigint} NOT NULL PRIMARY KEY CHECK (only_one = 1),
  sequence {bigint} NOT NULL,
  hash {text} NOT NULL
){strict};

INSERT INTO audit_head (only_one, sequence, hash) VALUES (1, 0,
  '0000000000000000000000000000000000000000000000000000000000000000');

{sqlite}CREATE TRIGGER audit_trail_keeps_rows BEFORE UPDATE ON audit_trail
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;

{sqlite}CREATE TRIGGER audit_trail_loses_no_rows BEFORE DELETE ON audit_trail
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;

{sqlite}CREATE TRIGGER audit_trail_grows_at_its_end BEFORE INSERT ON audit_trail
WHEN NEW.sequence <> (SELECT COALESCE(MAX(sequence), 0) + 1 FROM audit_trail)
BEGIN
  SELECT RAISE(ABORT, 'the audit trail is append-only');
END;

{postgresql}CREATE FUNCTION audit_trail_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION 'the audit trail is append-only';
END
$$;

{postgresql}CREATE TRIGGER audit_trail_keeps_rows BEFORE UPDATE OR DELETE ON audit_trail
FOR EACH ROW EXECUTE FUNCTION audit_trail_refuse();

{postgresql}CREATE TRIGGER audit_trail_loses_no_rows BEFORE TRUNCATE ON audit_trail
FOR EACH STATEMENT EXECUTE FUNCTION audit_trail_refuse();
