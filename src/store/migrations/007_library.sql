-- What a workplace keeps of its own beside the built-in library: protocols, drills, standard errors
-- (store/library_names.h). Results are kept by these names, so each is there once, archived or not.
CREATE TABLE library_names (
  organization {text} NOT NULL,
  kind {text} NOT NULL CHECK (kind IN ('protocol', 'drill', 'standard_error')),
  name {text} NOT NULL,
  record {text} NOT NULL UNIQUE REFERENCES records (id) ON DELETE CASCADE,
  PRIMARY KEY (organization, kind, name)
){strict};
