-- A second factor at sign-in: a code that changes each half minute.

CREATE TABLE second_factors (
	member_id INTEGER NOT NULL PRIMARY KEY REFERENCES members (id) ON DELETE CASCADE,
	secret BLOB NOT NULL CHECK (length(secret) = 20),      -- RFC 4226 section 4; as it is: codes are computed from it
	made_at INTEGER NOT NULL,
	confirmed_at INTEGER NOT NULL DEFAULT 0,               -- 0: shown, but not yet proved by a code; does not count
	last_step INTEGER NOT NULL DEFAULT 0                   -- half minutes since 1970 of the last code used: each once
) STRICT;

-- Each signs in once, in place of a code.
CREATE TABLE recovery_codes (
	member_id INTEGER NOT NULL REFERENCES second_factors (member_id) ON DELETE CASCADE,
	code BLOB NOT NULL CHECK (length(code) = 32),          -- BLAKE2b-256 of it
	PRIMARY KEY (member_id, code)
) STRICT, WITHOUT ROWID;
