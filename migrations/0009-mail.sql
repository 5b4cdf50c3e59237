-- Mail: addresses that their owners have confirmed, and an outbox.

CREATE TABLE mail_addresses (
	member_id INTEGER NOT NULL PRIMARY KEY REFERENCES members (id) ON DELETE CASCADE,
	address TEXT NOT NULL CHECK (length(address) BETWEEN 3 AND 254),
	confirm_token BLOB UNIQUE CHECK (length(confirm_token) = 32), -- hash, made when the question goes out; NULL: none waits
	confirm_until INTEGER NOT NULL DEFAULT 0,
	confirmed_at INTEGER NOT NULL DEFAULT 0,               -- 0: not yet; then nothing but the question goes there
	at_once INTEGER NOT NULL DEFAULT 1 CHECK (at_once IN (0, 1)), -- mandatory ones at once
	weekly INTEGER NOT NULL DEFAULT 1 CHECK (weekly IN (0, 1)),   -- the rest once a week
	digest_at INTEGER NOT NULL DEFAULT 0                   -- when the last weekly one was written; 0: never
) STRICT;

-- A mail is taken from waiting to in hand before the first byte goes out, and
-- from there to sent or back to waiting only when the server has said so. One
-- that is found in hand at a start may have gone out: it is not sent again.
CREATE TABLE outbox (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	address TEXT NOT NULL CHECK (length(address) BETWEEN 3 AND 254),
	kind INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 2),    -- enum mail_kind: question, at once, weekly
	subject TEXT NOT NULL CHECK (length(subject) BETWEEN 1 AND 200),
	body TEXT NOT NULL CHECK (length(body) <= 200000),     -- without the links; '' once it is sent or unsure
	made_at INTEGER NOT NULL,
	state INTEGER NOT NULL CHECK (state BETWEEN 0 AND 4),  -- enum mail_state: waiting, in hand, sent, given up, unsure
	tries INTEGER NOT NULL DEFAULT 0 CHECK (tries >= 0),
	next_at INTEGER NOT NULL,                              -- not to be tried before
	ended_at INTEGER NOT NULL DEFAULT 0,                   -- 0: not yet
	fault TEXT NOT NULL DEFAULT '' CHECK (length(fault) <= 500), -- what the server said last
	stop_token BLOB UNIQUE CHECK (length(stop_token) = 32) -- hash of the token in the link that stops such mail; NULL: never tried, or a question
) STRICT;
CREATE INDEX outbox_member ON outbox (member_id);
CREATE INDEX outbox_waiting ON outbox (next_at) WHERE state = 0;
CREATE INDEX outbox_held ON outbox (id) WHERE state IN (0, 3, 4); -- what an admin looks at
CREATE INDEX outbox_ended ON outbox (ended_at);
