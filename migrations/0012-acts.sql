-- Who did what to members, their rights and the chapter's box; links that end
-- with their maker's right to make them; tokens that end by themselves; the
-- addresses that a login is known from.

-- Only added to. Members are plain numbers, which are never given twice, and no
-- references: a removed member's entries stay as they are and name nobody.
CREATE TABLE acts (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	at INTEGER NOT NULL CHECK (at >= 0),
	by INTEGER NOT NULL CHECK (by >= 0),                   -- a member's number; 0: the box's command line
	act INTEGER NOT NULL CHECK (act BETWEEN 0 AND 62),     -- enum act_kind
	whom INTEGER NOT NULL CHECK (whom >= 0),               -- the member concerned; 0: none
	subject TEXT NOT NULL CHECK (length(subject) <= 300),  -- what else it is about, as it was named then; '' when nothing
	remark TEXT NOT NULL CHECK (length(remark) <= 2000),   -- from what to what, how many; '' when nothing; never a secret
	hash BLOB NOT NULL DEFAULT x'' CHECK (length(hash) IN (0, 32)) -- of the chain; x'' where none was made
) STRICT;
CREATE INDEX acts_at ON acts (at, id);
CREATE INDEX acts_by ON acts (by, at, id);
CREATE INDEX acts_whom ON acts (whom, at, id) WHERE whom > 0;
CREATE TRIGGER acts_stay BEFORE DELETE ON acts
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
CREATE TRIGGER acts_unchanged BEFORE UPDATE ON acts
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
CREATE TRIGGER acts_not_replaced BEFORE INSERT ON acts
WHEN EXISTS (SELECT 1 FROM acts WHERE id = NEW.id)
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
-- Both logs are read as one, newest first.
CREATE INDEX notice_log_at ON notice_log (at, id);

-- Who handed a link out is known from now on. Those of before are ended: they
-- are two days old at most, and another is made in a moment.
DELETE FROM resets;
ALTER TABLE resets ADD COLUMN made_by INTEGER REFERENCES members (id) ON DELETE CASCADE; -- NULL: the box's command line
CREATE INDEX resets_made_by ON resets (made_by);
-- Open invites of those who may make none any more.
UPDATE invites SET revoked = 1 WHERE used_at = 0 AND NOT revoked AND NOT first_admin
	AND NOT EXISTS (SELECT 1 FROM members m WHERE m.id = made_by AND m.role = 2 AND NOT m.disabled);

-- When a token for programs ends. Those of before get a year.
ALTER TABLE api_tokens ADD COLUMN ends_at INTEGER NOT NULL DEFAULT 0;
UPDATE api_tokens SET ends_at = unixepoch() + 365 * 86400;

-- Addresses that a login has signed in from, so that failures from elsewhere do
-- not keep its owner out. A few for each, and not for ever.
CREATE TABLE known_addresses (
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	address BLOB NOT NULL CHECK (length(address) = 32),    -- BLAKE2b-256 of it, keyed by the setting 'key'
	seen_at INTEGER NOT NULL,                              -- last sign-in from there
	PRIMARY KEY (member_id, address)
) STRICT, WITHOUT ROWID;
CREATE INDEX known_addresses_seen ON known_addresses (seen_at);
-- The chapter's own key, for what only its box can make or compare.
INSERT INTO settings (name, value) VALUES ('key', lower(hex(randomblob(32))));
