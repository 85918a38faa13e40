-- People who sign in (store/accounts.h). Of secrets and invitations only SHA-256 is kept, of
-- passphrases only Argon2id hashes. `person` is the id of a practitioner's or an athlete's record.
CREATE TABLE accounts (
  person {text} NOT NULL PRIMARY KEY,
  organization {text} NOT NULL,
  name {text} NOT NULL,
  login {text} NOT NULL UNIQUE,
  role {text} NOT NULL CHECK (role IN ('owner', 'practitioner', 'assistant', 'athlete', 'reviewer')),
  active {bigint} NOT NULL CHECK (active IN (0, 1)),
  version {bigint} NOT NULL,
  passphrase_hash {text} NOT NULL,
  created_at {text} NOT NULL,
  changed_at {text} NOT NULL,
  signed_in_at {text} NOT NULL
){strict};

CREATE INDEX accounts_of_organization ON accounts (organization, name);

CREATE TABLE sessions (
  id {text} NOT NULL PRIMARY KEY,
  digest {text} NOT NULL UNIQUE,
  person {text} NOT NULL REFERENCES accounts (person) ON DELETE CASCADE,
  created_at {text} NOT NULL,
  seen_at {text} NOT NULL,
  expires_at {text} NOT NULL,
  peer {text} NOT NULL
){strict};

CREATE INDEX sessions_of_person ON sessions (person);

CREATE INDEX sessions_by_expiry ON sessions (expires_at);

CREATE TABLE api_tokens (
  id {text} NOT NULL PRIMARY KEY,
  digest {text} NOT NULL UNIQUE,
  person {text} NOT NULL REFERENCES accounts (person) ON DELETE CASCADE,
  name {text} NOT NULL,
  scopes {text} NOT NULL,
  created_at {text} NOT NULL,
  expires_at {text} NOT NULL,
  used_at {text} NOT NULL
){strict};

CREATE INDEX api_tokens_of_person ON api_tokens (person);

CREATE TABLE invitations (
  person {text} NOT NULL PRIMARY KEY REFERENCES accounts (person) ON DELETE CASCADE,
  digest {text} NOT NULL UNIQUE,
  created_at {text} NOT NULL,
  expires_at {text} NOT NULL
){strict};

-- `attempt_key` is a digest of a login, existing or not, or of an address.
CREATE TABLE sign_in_attempts (
  attempt_key {text} NOT NULL PRIMARY KEY,
  count {bigint} NOT NULL,
  first_at {text} NOT NULL,
  wait_until {text} NOT NULL
){strict};

CREATE INDEX sign_in_attempts_by_time ON sign_in_attempts (first_at);
