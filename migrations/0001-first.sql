-- The first shape of the database.
--
-- Every table is STRICT and guards its own content. Times are seconds since
-- 1970-01-01 UTC. A date is text as typed: YYYY, YYYY-MM or YYYY-MM-DD. A date
-- that is a fact of a kit may also be '' (not known) or 'never' (has not
-- happened). NULL stands only where a comment says what it means.
-- Columns that end in _key hold a name folded for comparing: blanks squeezed,
-- ASCII letters upper case. Deciding about forms in full is core's work; the
-- CHECKs here keep out what no version of the program may write.

CREATE TABLE settings (
	name TEXT NOT NULL PRIMARY KEY CHECK (name <> ''),     -- closed set, named in settings.c
	value TEXT NOT NULL CHECK (length(value) <= 500)       -- flags are '1' or ''
) STRICT, WITHOUT ROWID;

-- One row. Goes up when a published notice changes.
CREATE TABLE generation (
	id INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
	value INTEGER NOT NULL CHECK (value >= 0)
) STRICT;
INSERT INTO generation (id, value) VALUES (1, 0);

-- Members ------------------------------------------------------------------

CREATE TABLE members (
	id INTEGER PRIMARY KEY AUTOINCREMENT,                  -- never used again for another
	login TEXT NOT NULL CHECK (length(login) BETWEEN 1 AND 40),
	login_key TEXT NOT NULL UNIQUE CHECK (login_key <> ''),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	password TEXT NOT NULL CHECK (length(password) BETWEEN 1 AND 500), -- as the password hash wrote it
	role INTEGER NOT NULL CHECK (role IN (0, 1, 2)),       -- builder, steward, admin
	disabled INTEGER NOT NULL DEFAULT 0 CHECK (disabled IN (0, 1)),
	joined_at INTEGER NOT NULL
) STRICT;
CREATE INDEX members_role ON members (role, disabled);

CREATE TABLE invites (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	token BLOB NOT NULL UNIQUE CHECK (length(token) = 32), -- BLAKE2b-256 of the token
	role INTEGER NOT NULL CHECK (role IN (0, 1, 2)),
	label TEXT NOT NULL CHECK (length(label) <= 120),
	first_admin INTEGER NOT NULL CHECK (first_admin IN (0, 1)), -- the link printed at the first start
	made_by INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: nobody, or a removed member
	made_at INTEGER NOT NULL,
	expires_at INTEGER NOT NULL,
	used_at INTEGER NOT NULL DEFAULT 0,                    -- 0: not used
	used_by INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: nobody, or a removed member
	revoked INTEGER NOT NULL DEFAULT 0 CHECK (revoked IN (0, 1))
) STRICT;
CREATE INDEX invites_made_by ON invites (made_by);
CREATE INDEX invites_used_by ON invites (used_by);

CREATE TABLE sessions (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	token BLOB NOT NULL UNIQUE CHECK (length(token) = 32),
	secret BLOB NOT NULL CHECK (length(secret) = 32),      -- for the tokens of forms
	label TEXT NOT NULL CHECK (length(label) <= 120),      -- the browser, as it named itself
	made_at INTEGER NOT NULL,
	seen_at INTEGER NOT NULL,
	idle_until INTEGER NOT NULL,                           -- moves with use
	ends_at INTEGER NOT NULL                               -- never moves
) STRICT;
CREATE INDEX sessions_member ON sessions (member_id);

CREATE TABLE api_tokens (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	token BLOB NOT NULL UNIQUE CHECK (length(token) = 32),
	label TEXT NOT NULL CHECK (length(label) BETWEEN 1 AND 120),
	made_at INTEGER NOT NULL
) STRICT;
CREATE INDEX api_tokens_member ON api_tokens (member_id);

-- Failed sign-ins, kept for a day to slow down guessing.
CREATE TABLE sign_in_failures (
	who TEXT NOT NULL CHECK (length(who) BETWEEN 1 AND 200), -- login key or address
	at INTEGER NOT NULL
) STRICT;
CREATE INDEX sign_in_failures_who ON sign_in_failures (who, at);
CREATE INDEX sign_in_failures_at ON sign_in_failures (at);

-- Notices ------------------------------------------------------------------

CREATE TABLE notices (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	number TEXT NOT NULL CHECK (length(number) BETWEEN 1 AND 80),
	number_key TEXT NOT NULL UNIQUE CHECK (number_key <> ''),
	issuer TEXT NOT NULL CHECK (length(issuer) <= 80),
	issuer_key TEXT NOT NULL,
	kind INTEGER NOT NULL CHECK (kind BETWEEN 0 AND 4),    -- enum notice_kind
	current_revision INTEGER UNIQUE REFERENCES revisions (id)
		DEFERRABLE INITIALLY DEFERRED,                     -- NULL: nothing published yet
	cancelled_on TEXT NOT NULL DEFAULT ''                  -- date, '' when it stands
		CHECK (cancelled_on = '' OR cancelled_on GLOB '[12][0-9][0-9][0-9]*'),
	cancel_reason TEXT NOT NULL DEFAULT '' CHECK (length(cancel_reason) <= 2000),
	CHECK (cancelled_on = '' OR current_revision IS NOT NULL),
	CHECK (current_revision IS NULL OR issuer <> '')
) STRICT;

CREATE TABLE revisions (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	notice_id INTEGER NOT NULL REFERENCES notices (id) ON DELETE CASCADE,
	state INTEGER NOT NULL CHECK (state IN (0, 1, 2)),     -- draft, in checking, published
	edit INTEGER NOT NULL CHECK (edit >= 1),               -- goes up with each save
	editor INTEGER REFERENCES members (id) ON DELETE SET NULL, -- who saved last; NULL: a removed member
	edited_at INTEGER NOT NULL,
	publisher INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: not published, or a removed member
	published_at INTEGER NOT NULL DEFAULT 0,               -- 0: not published
	label TEXT NOT NULL CHECK (length(label) <= 80),       -- '' for an original issue without one
	label_key TEXT NOT NULL,
	title TEXT NOT NULL CHECK (length(title) <= 200),
	problem TEXT NOT NULL CHECK (length(problem) <= 20000),
	action TEXT NOT NULL CHECK (length(action) <= 20000),
	compliance TEXT NOT NULL CHECK (length(compliance) <= 20000), -- compliance time in words
	source TEXT NOT NULL CHECK (length(source) <= 2000),   -- where it was published
	effectivity TEXT NOT NULL CHECK (length(effectivity) <= 20000), -- the statement as typed
	force INTEGER NOT NULL CHECK (force IN (0, 1, 2)),     -- mandatory, recommended, optional
	issued TEXT NOT NULL                                   -- date, '' in a draft without one
		CHECK (issued = '' OR issued GLOB '[12][0-9][0-9][0-9]*'),
	plans_carry TEXT NOT NULL                              -- plans from this date carry the change, '' when not stated
		CHECK (plans_carry = '' OR plans_carry GLOB '[12][0-9][0-9][0-9]*'),
	repeat_hours INTEGER NOT NULL CHECK (repeat_hours BETWEEN 0 AND 999999999), -- hundredths; 0: no limit
	repeat_landings INTEGER NOT NULL CHECK (repeat_landings BETWEEN 0 AND 9999999),
	repeat_months INTEGER NOT NULL CHECK (repeat_months BETWEEN 0 AND 1200),
	CHECK (state < 2 OR (title <> '' AND issued <> '' AND effectivity <> '' AND published_at > 0))
) STRICT;
CREATE INDEX revisions_notice ON revisions (notice_id, state);
CREATE INDEX revisions_editor ON revisions (editor);
CREATE INDEX revisions_publisher ON revisions (publisher);
-- One at a time is being worked on; published labels are told apart.
CREATE UNIQUE INDEX revisions_one_draft ON revisions (notice_id) WHERE state < 2;
CREATE UNIQUE INDEX revisions_label ON revisions (notice_id, label_key) WHERE state = 2;
CREATE INDEX revisions_drafts ON revisions (edited_at) WHERE state < 2;

-- Affected parts, in the order of the notice.
CREATE TABLE revision_lines (
	revision_id INTEGER NOT NULL REFERENCES revisions (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	part TEXT NOT NULL CHECK (length(part) <= 80),
	part_key TEXT NOT NULL,
	position TEXT NOT NULL CHECK (length(position) <= 80), -- '' when there is only one
	position_key TEXT NOT NULL,
	replacement TEXT NOT NULL CHECK (length(replacement) <= 80),
	disposition INTEGER NOT NULL CHECK (disposition BETWEEN 0 AND 4), -- enum disposition
	lots TEXT NOT NULL CHECK (length(lots) <= 500),        -- as typed, '' for every lot
	remark TEXT NOT NULL CHECK (length(remark) <= 500),
	PRIMARY KEY (revision_id, place),
	UNIQUE (revision_id, part_key, position_key)           -- a record names its line by these
) STRICT, WITHOUT ROWID;

CREATE TABLE revision_material (
	revision_id INTEGER NOT NULL REFERENCES revisions (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	item TEXT NOT NULL CHECK (length(item) BETWEEN 1 AND 200),
	quantity TEXT NOT NULL CHECK (length(quantity) <= 80),
	remark TEXT NOT NULL CHECK (length(remark) <= 500),
	PRIMARY KEY (revision_id, place)
) STRICT, WITHOUT ROWID;

-- Names that a revision lists: affected steps, links to other notices by
-- number, labels of earlier revisions to which work done needs no further action.
CREATE TABLE revision_names (
	revision_id INTEGER NOT NULL REFERENCES revisions (id) ON DELETE CASCADE,
	list INTEGER NOT NULL CHECK (list BETWEEN 0 AND 4),    -- steps, supersedes, requires, terminates, credits
	place INTEGER NOT NULL CHECK (place >= 0),
	name TEXT NOT NULL CHECK (length(name) <= 80 AND (name <> '' OR list = 4)),
	name_key TEXT NOT NULL,
	PRIMARY KEY (revision_id, list, place),
	UNIQUE (revision_id, list, name_key)
) STRICT, WITHOUT ROWID;

-- Bytes of attachments, kept once however many revisions name them.
CREATE TABLE files (
	id INTEGER PRIMARY KEY,
	hash BLOB NOT NULL UNIQUE CHECK (length(hash) = 32),   -- BLAKE2b-256 of bytes
	size INTEGER NOT NULL CHECK (size BETWEEN 1 AND 10485760 AND size = length(bytes)),
	bytes BLOB NOT NULL
) STRICT;

CREATE TABLE attachments (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	revision_id INTEGER NOT NULL REFERENCES revisions (id) ON DELETE CASCADE,
	file_id INTEGER NOT NULL REFERENCES files (id),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 120),
	mime TEXT NOT NULL CHECK (length(mime) BETWEEN 3 AND 100)
) STRICT;
CREATE INDEX attachments_revision ON attachments (revision_id);
CREATE INDEX attachments_file ON attachments (file_id);
-- Bytes that nothing names any more go with the last name.
CREATE TRIGGER attachments_last AFTER DELETE ON attachments
WHEN NOT EXISTS (SELECT 1 FROM attachments WHERE file_id = OLD.file_id)
BEGIN
	DELETE FROM files WHERE id = OLD.file_id;
END;

-- Who did what and when to notices; outlives drafts that were discarded.
CREATE TABLE notice_log (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	notice_id INTEGER NOT NULL,                            -- may be gone
	number TEXT NOT NULL,                                  -- as it was then
	label TEXT NOT NULL,                                   -- of the revision, as it was then
	at INTEGER NOT NULL,
	member_id INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: a removed member
	act INTEGER NOT NULL CHECK (act BETWEEN 0 AND 9),      -- enum log_act
	remark TEXT NOT NULL CHECK (length(remark) <= 2000)
) STRICT;
CREATE INDEX notice_log_notice ON notice_log (notice_id);
CREATE INDEX notice_log_member ON notice_log (member_id);
CREATE TRIGGER notice_log_stays BEFORE DELETE ON notice_log
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
CREATE TRIGGER notice_log_unchanged
BEFORE UPDATE OF id, notice_id, number, label, at, act, remark ON notice_log
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
CREATE TRIGGER notice_log_not_replaced BEFORE INSERT ON notice_log
WHEN EXISTS (SELECT 1 FROM notice_log WHERE id = NEW.id)
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;

-- Words of current published revisions; rowid is the notice's id.
CREATE VIRTUAL TABLE notice_words USING fts5 (
	number, title, problem, action, issuer, parts, effectivity,
	tokenize = "unicode61 remove_diacritics 2", prefix = '2 3'
);
-- Their numbers and part numbers, folded, for finding parts of them.
CREATE TABLE notice_numbers (
	notice_id INTEGER NOT NULL REFERENCES notices (id) ON DELETE CASCADE,
	number_key TEXT NOT NULL CHECK (number_key <> ''),
	PRIMARY KEY (notice_id, number_key)
) STRICT, WITHOUT ROWID;

-- Notes --------------------------------------------------------------------

CREATE TABLE notes (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	notice_id INTEGER NOT NULL REFERENCES notices (id) ON DELETE CASCADE,
	author INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	written_at INTEGER NOT NULL,
	text TEXT NOT NULL CHECK (length(text) <= 10000),      -- CommonMark as typed; '' when removed
	removed_at INTEGER NOT NULL DEFAULT 0,                 -- 0: stands
	removed_by INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: stands, or a removed member
	CHECK ((removed_at = 0) = (text <> ''))
) STRICT;
CREATE INDEX notes_notice ON notes (notice_id, removed_at);
CREATE INDEX notes_author ON notes (author);
CREATE INDEX notes_removed_by ON notes (removed_by);

-- Kits ---------------------------------------------------------------------

CREATE TABLE kits (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	owner INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	version INTEGER NOT NULL DEFAULT 1 CHECK (version >= 1), -- goes up with every change
	made_at INTEGER NOT NULL,
	records INTEGER NOT NULL DEFAULT 0 CHECK (records >= 0), -- length of the chain
	head BLOB NOT NULL DEFAULT (zeroblob(32)) CHECK (length(head) = 32), -- hash of its last record
	model TEXT NOT NULL DEFAULT '' CHECK (length(model) <= 80), -- '' when not known
	serial TEXT NOT NULL DEFAULT '' CHECK (length(serial) <= 40),
	purchased TEXT NOT NULL DEFAULT ''
		CHECK (purchased IN ('', 'never') OR purchased GLOB '[12][0-9][0-9][0-9]*'),
	plans TEXT NOT NULL DEFAULT ''
		CHECK (plans IN ('', 'never') OR plans GLOB '[12][0-9][0-9][0-9]*'),
	first_flight TEXT NOT NULL DEFAULT ''
		CHECK (first_flight IN ('', 'never') OR first_flight GLOB '[12][0-9][0-9][0-9]*'),
	hours INTEGER CHECK (hours BETWEEN 0 AND 999999999),   -- hundredths; NULL: not known
	landings INTEGER CHECK (landings BETWEEN 0 AND 9999999), -- NULL: not known
	parts_known INTEGER NOT NULL DEFAULT 0 CHECK (parts_known IN (0, 1)), -- the list is complete
	notices_known INTEGER NOT NULL DEFAULT 0 CHECK (notices_known IN (0, 1)),
	steps_known INTEGER NOT NULL DEFAULT 0 CHECK (steps_known IN (0, 1))
) STRICT;
CREATE INDEX kits_owner ON kits (owner);

CREATE TABLE kit_options (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	name_key TEXT NOT NULL,
	fitted INTEGER NOT NULL CHECK (fitted IN (0, 1)),
	PRIMARY KEY (kit_id, place),
	UNIQUE (kit_id, name_key)
) STRICT, WITHOUT ROWID;

CREATE TABLE kit_subkits (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 80),
	code_key TEXT NOT NULL,
	received INTEGER NOT NULL CHECK (received IN (0, 1)),
	shipped TEXT NOT NULL
		CHECK (shipped IN ('', 'never') OR shipped GLOB '[12][0-9][0-9][0-9]*'),
	PRIMARY KEY (kit_id, place),
	UNIQUE (kit_id, code_key)
) STRICT, WITHOUT ROWID;

-- Parts fitted; the same number may stand several times.
CREATE TABLE kit_parts (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	number TEXT NOT NULL CHECK (length(number) <= 80),     -- '' when not known
	position TEXT NOT NULL CHECK (length(position) <= 80),
	serial TEXT NOT NULL CHECK (length(serial) <= 40),     -- '' when not known
	lot TEXT NOT NULL CHECK (length(lot) <= 40),           -- '' when not known
	PRIMARY KEY (kit_id, place)
) STRICT, WITHOUT ROWID;

-- Steps built and notices done as the builder stated them, apart from records.
CREATE TABLE kit_names (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	list INTEGER NOT NULL CHECK (list IN (0, 1)),          -- steps done, notices done
	place INTEGER NOT NULL CHECK (place >= 0),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	name_key TEXT NOT NULL,
	PRIMARY KEY (kit_id, list, place),
	UNIQUE (kit_id, list, name_key)
) STRICT, WITHOUT ROWID;

-- Steps built from other plans than the kit's.
CREATE TABLE kit_step_plans (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	step TEXT NOT NULL CHECK (length(step) BETWEEN 1 AND 80),
	step_key TEXT NOT NULL,
	plans TEXT NOT NULL CHECK (plans IN ('', 'never') OR plans GLOB '[12][0-9][0-9][0-9]*'),
	PRIMARY KEY (kit_id, place),
	UNIQUE (kit_id, step_key)
) STRICT, WITHOUT ROWID;

-- Which revision of a notice the builder has read for this kit.
CREATE TABLE readings (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	notice_id INTEGER NOT NULL REFERENCES notices (id) ON DELETE CASCADE,
	revision_id INTEGER NOT NULL REFERENCES revisions (id) ON DELETE CASCADE,
	read_at INTEGER NOT NULL,
	PRIMARY KEY (kit_id, notice_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX readings_notice ON readings (notice_id);
CREATE INDEX readings_revision ON readings (revision_id);

-- Records of work: append only, chained. hash is BLAKE2b-256 over the hash of
-- the kit's record before (zeros for the first) and the canonical record.
CREATE TABLE records (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 1),             -- n-th of its kit
	corrects INTEGER UNIQUE REFERENCES records (id)
		DEFERRABLE INITIALLY DEFERRED,                     -- NULL: a first entry
	withdraws INTEGER NOT NULL CHECK (withdraws IN (0, 1)),
	notice TEXT NOT NULL CHECK (length(notice) BETWEEN 1 AND 80), -- number
	revision TEXT NOT NULL CHECK (length(revision) <= 80), -- worked to
	part TEXT NOT NULL CHECK (length(part) <= 80),
	position TEXT NOT NULL CHECK (length(position) <= 80),
	done TEXT NOT NULL CHECK (done GLOB '[12][0-9][0-9][0-9]*'), -- date of completion
	method TEXT NOT NULL CHECK (length(method) <= 2000),
	by TEXT NOT NULL CHECK (length(by) <= 120),            -- who did it
	signed_as TEXT NOT NULL CHECK (length(signed_as) <= 120), -- certificate kind and number
	hours INTEGER CHECK (hours BETWEEN 0 AND 999999999),   -- hundredths at completion; NULL: not given
	landings INTEGER CHECK (landings BETWEEN 0 AND 9999999), -- NULL: not given
	remarks TEXT NOT NULL CHECK (length(remarks) <= 5000),
	entered_by TEXT NOT NULL CHECK (length(entered_by) <= 80), -- name at the time of entry
	entered_at INTEGER NOT NULL,
	hash BLOB NOT NULL CHECK (length(hash) = 32),
	UNIQUE (kit_id, place),
	CHECK (withdraws = 0 OR corrects IS NOT NULL)
) STRICT;
CREATE TRIGGER records_unchanged BEFORE UPDATE ON records
BEGIN
	SELECT RAISE(ABORT, 'records are only added');
END;
-- REPLACE takes rows out without asking the trigger below.
CREATE TRIGGER records_not_replaced BEFORE INSERT ON records
WHEN EXISTS (SELECT 1 FROM records WHERE id = NEW.id OR corrects = NEW.corrects
	OR (kit_id = NEW.kit_id AND place = NEW.place))
BEGIN
	SELECT RAISE(ABORT, 'records are only added');
END;
-- When a whole kit goes it is gone before its records follow.
CREATE TRIGGER records_stay BEFORE DELETE ON records
WHEN EXISTS (SELECT 1 FROM kits WHERE id = OLD.kit_id)
BEGIN
	SELECT RAISE(ABORT, 'records are only added');
END;
