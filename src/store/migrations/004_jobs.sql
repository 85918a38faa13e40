-- Work that waits for a worker (store/job_queue.h). `sequence` is the order of making; the worker
-- takes what waits longest, and what runs past its lease.
CREATE TABLE jobs (
  id {text} NOT NULL PRIMARY KEY,
  sequence {bigint} NOT NULL,
  kind {text} NOT NULL,
  organization {text} NOT NULL,
  athlete {text} NOT NULL,
  record {text} NOT NULL,
  created_by {text} NOT NULL,
  input {text} NOT NULL,
  output {text} NOT NULL,
  state {text} NOT NULL CHECK (state IN ('waiting', 'running', 'done', 'failed', 'cancelled')),
  attempts {bigint} NOT NULL,
  not_before {text} NOT NULL,
  lease_owner {text} NOT NULL,
  lease_until {text} NOT NULL,
  cancel_asked {bigint} NOT NULL,
  stage {text} NOT NULL,
  done {real} NOT NULL,
  total {real} NOT NULL,
  error_code {text} NOT NULL,
  error_message {text} NOT NULL,
  error_mend {text} NOT NULL,
  created_at {text} NOT NULL,
  changed_at {text} NOT NULL,
  started_at {text} NOT NULL,
  finished_at {text} NOT NULL
){strict};
CREATE INDEX jobs_to_take ON jobs (state, not_before, sequence);
CREATE INDEX jobs_of_organization ON jobs (organization, sequence);
CREATE INDEX jobs_of_record ON jobs (record);
CREATE INDEX jobs_of_athlete ON jobs (athlete);
