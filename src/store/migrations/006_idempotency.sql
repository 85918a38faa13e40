-- Keys of requests that count once (store/idempotency.h), for a day. once_key and content are digests.
CREATE TABLE once_keys (
  once_key {text} NOT NULL PRIMARY KEY,
  organization {text} NOT NULL,
  content {text} NOT NULL,
  answer {text} NOT NULL,
  at {text} NOT NULL
){strict};

CREATE INDEX once_keys_by_time ON once_keys (at);

CREATE INDEX once_keys_of_organization ON once_keys (organization);
