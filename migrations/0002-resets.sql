-- One-time links by which a member sets a new password.

CREATE TABLE resets (
	member_id INTEGER NOT NULL PRIMARY KEY REFERENCES members (id) ON DELETE CASCADE, -- one link each
	token BLOB NOT NULL UNIQUE CHECK (length(token) = 32), -- BLAKE2b-256 of the token
	expires_at INTEGER NOT NULL
) STRICT;
