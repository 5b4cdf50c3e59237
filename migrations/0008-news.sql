-- News: what a member has not been told yet, and links by which programs read it.

-- Of each kit: what its builder has been told of each notice that is not "not
-- effective". News is the difference between this and what is so now.
CREATE TABLE told (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	notice_id INTEGER NOT NULL REFERENCES notices (id) ON DELETE CASCADE,
	revision_id INTEGER NOT NULL,                          -- current one then; may be gone
	standing INTEGER NOT NULL CHECK (standing BETWEEN 0 AND 7), -- enum standing_kind
	overdue INTEGER NOT NULL CHECK (overdue IN (0, 1)),
	PRIMARY KEY (kit_id, notice_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX told_notice ON told (notice_id);

-- What told was last compared with; all 0: never, and then nothing is news.
ALTER TABLE kits ADD COLUMN told_generation INTEGER NOT NULL DEFAULT 0;
ALTER TABLE kits ADD COLUMN told_version INTEGER NOT NULL DEFAULT 0;
ALTER TABLE kits ADD COLUMN told_day INTEGER NOT NULL DEFAULT 0;  -- day number
-- May other members see how far it is built? Its builder says so.
ALTER TABLE kits ADD COLUMN shown INTEGER NOT NULL DEFAULT 0 CHECK (shown IN (0, 1));

CREATE INDEX kits_shown ON kits (name, id) WHERE shown = 1;

CREATE TABLE news (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	at INTEGER NOT NULL,
	kind INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 8),    -- enum news_kind
	mandatory INTEGER NOT NULL CHECK (mandatory IN (0, 1)), -- mailed at once
	kit_id INTEGER REFERENCES kits (id) ON DELETE CASCADE, -- NULL: of no one kit
	notice_id INTEGER REFERENCES notices (id) ON DELETE CASCADE, -- NULL: not of a notice
	report_id INTEGER REFERENCES reports (id) ON DELETE CASCADE, -- NULL: not of a report
	note_id INTEGER REFERENCES notes (id) ON DELETE CASCADE,     -- NULL: not of a note
	from_member INTEGER REFERENCES members (id) ON DELETE SET NULL, -- who answered or points out; NULL: nobody, or a removed member
	words TEXT NOT NULL CHECK (length(words) <= 4000),     -- reason, as it was then; message
	mailed INTEGER NOT NULL DEFAULT 0 CHECK (mailed IN (0, 1)) -- put into a mail, or not to be
) STRICT;
CREATE INDEX news_member ON news (member_id, id);
CREATE INDEX news_to_mail ON news (member_id, id) WHERE mailed = 0;
CREATE INDEX news_kit ON news (kit_id);
CREATE INDEX news_notice ON news (notice_id);
CREATE INDEX news_report ON news (report_id);
CREATE INDEX news_note ON news (note_id);
CREATE INDEX news_from ON news (from_member);

-- News up to this id has been seen.
ALTER TABLE members ADD COLUMN news_seen INTEGER NOT NULL DEFAULT 0;

-- The state of a report that its reporter and those who answered have been told;
-- 4: that it was put together with another.
ALTER TABLE reports ADD COLUMN told_state INTEGER NOT NULL DEFAULT 0 CHECK (told_state BETWEEN 0 AND 4);
CREATE INDEX reports_state_to_tell ON reports (id) WHERE told_state <> findings_say;

-- One link each, by which feed readers and calendars read without a session.
CREATE TABLE feed_links (
	member_id INTEGER NOT NULL PRIMARY KEY REFERENCES members (id) ON DELETE CASCADE,
	token BLOB NOT NULL UNIQUE CHECK (length(token) = 32), -- BLAKE2b-256 of the token
	made_at INTEGER NOT NULL
) STRICT;

-- What the chapter's own feed tells, newest first: published, cancelled, imported.
CREATE INDEX notice_log_public ON notice_log (id) WHERE act IN (4, 6, 7);

-- The chapter's id: what feeds call their entries is made of it, so that the names
-- stay when the chapter or its address is named anew.
INSERT INTO settings (name, value) VALUES ('id', lower(hex(randomblob(16))));
