-- Field reports and the findings of others; pictures; calls for a steward.

-- Facts of a kit as they were when somebody reported or answered: one row for
-- each version of a kit that a finding names. What a builder changes later,
-- or a kit that is removed, does not change what was found on it.
CREATE TABLE kit_snapshots (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	kit INTEGER NOT NULL,                                  -- id of a kit that may be gone
	kit_version INTEGER NOT NULL CHECK (kit_version >= 1),
	taken_at INTEGER NOT NULL,
	model TEXT NOT NULL CHECK (length(model) <= 80),
	serial TEXT NOT NULL CHECK (length(serial) <= 40),
	purchased TEXT NOT NULL,
	plans TEXT NOT NULL,
	first_flight TEXT NOT NULL,
	hours INTEGER,                                         -- hundredths; NULL: not known
	landings INTEGER,                                      -- NULL: not known
	parts_known INTEGER NOT NULL CHECK (parts_known IN (0, 1)),
	-- Lists, packed: fields end with U+001F, the last one of each row with U+001E.
	options TEXT NOT NULL DEFAULT '',                      -- name, fitted
	subkits TEXT NOT NULL DEFAULT '',                      -- code, received, shipped
	parts TEXT NOT NULL DEFAULT '',                        -- number, position, serial, lot
	UNIQUE (kit, kit_version)
) STRICT;

-- What many rows are looked through for stands before the long texts.
CREATE TABLE reports (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	author INTEGER NOT NULL,                               -- member who may be gone: counts must not change
	credit INTEGER NOT NULL CHECK (credit BETWEEN 0 AND 2), -- enum credit: nobody, members, everybody reads the name
	made_at INTEGER NOT NULL,
	edited_at INTEGER NOT NULL DEFAULT 0,                  -- 0: as first written
	version INTEGER NOT NULL DEFAULT 1 CHECK (version >= 1), -- goes up with every change of it and its findings
	model_key TEXT NOT NULL,
	step_key TEXT NOT NULL,
	severity INTEGER NOT NULL CHECK (severity BETWEEN 0 AND 3), -- enum severity, worst first
	notice_id INTEGER REFERENCES notices (id) ON DELETE SET NULL, -- advisory drawn up from it, or notice that it was linked to; NULL: none
	merged_into INTEGER REFERENCES reports (id),           -- the report that it repeats and is read with, which stands by itself; NULL: so does this one
	merged_first INTEGER REFERENCES reports (id),          -- the report that it was merged into to begin with, which may have been merged on
	removed_at INTEGER NOT NULL DEFAULT 0,                 -- 0: stands; the words stay readable to stewards
	removed_by INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: stands, or a removed member
	told INTEGER NOT NULL DEFAULT 0 CHECK (told IN (0, 1)), -- have those whom it concerns been told?
	-- Tally of the findings that count, those of reports merged into it included (core/findings.h);
	-- of a report that stands by itself.
	found INTEGER NOT NULL DEFAULT 0 CHECK (found >= 0),   -- kits
	not_there INTEGER NOT NULL DEFAULT 0 CHECK (not_there >= 0),
	does_not_fit INTEGER NOT NULL DEFAULT 0 CHECK (does_not_fit >= 0),
	finders INTEGER NOT NULL DEFAULT 0 CHECK (finders >= 0), -- members
	lookers INTEGER NOT NULL DEFAULT 0 CHECK (lookers >= 0),
	findings_say INTEGER NOT NULL DEFAULT 0 CHECK (findings_say BETWEEN 0 AND 2), -- enum report_state, a notice apart
	title TEXT NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
	model TEXT NOT NULL CHECK (length(model) BETWEEN 1 AND 80),
	step TEXT NOT NULL CHECK (length(step) <= 80),         -- code, '' when not said
	zone TEXT NOT NULL CHECK (length(zone) <= 80),         -- '' when not said
	remove_reason TEXT NOT NULL DEFAULT '' CHECK (length(remove_reason) <= 2000),
	effectivity TEXT NOT NULL CHECK (length(effectivity) BETWEEN 1 AND 20000), -- kits that could have it: a statement
	seen TEXT NOT NULL CHECK (length(seen) BETWEEN 1 AND 20000), -- what was seen
	look TEXT NOT NULL CHECK (length(look) <= 20000),      -- how to look
	CHECK (merged_into <> id),
	CHECK (merged_first <> id),
	CHECK ((merged_into IS NULL) = (merged_first IS NULL))
) STRICT;
CREATE INDEX reports_model ON reports (model_key);
CREATE INDEX reports_author ON reports (author);
CREATE INDEX reports_notice ON reports (notice_id);
CREATE INDEX reports_merged ON reports (merged_into) WHERE merged_into IS NOT NULL;
CREATE INDEX reports_merged_first ON reports (merged_first) WHERE merged_first IS NOT NULL;
CREATE INDEX reports_removed_by ON reports (removed_by);
CREATE INDEX reports_step ON reports (model_key, step_key) WHERE step_key <> '';
-- All that lists of reports ask for before they show a page of them.
CREATE INDEX reports_listed ON reports (severity, found, not_there, findings_say, model_key, step_key, author, notice_id)
	WHERE removed_at = 0 AND merged_into IS NULL;
CREATE INDEX reports_to_tell ON reports (id) WHERE told = 0;
-- A draft that is discarded takes the link to it along.
CREATE TRIGGER reports_unlinked AFTER UPDATE OF notice_id ON reports
WHEN OLD.notice_id IS NOT NULL AND NEW.notice_id IS NULL
BEGIN
	UPDATE reports SET version = version + 1 WHERE id = NEW.id;
END;

CREATE TABLE report_parts (
	report_id INTEGER NOT NULL REFERENCES reports (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	part TEXT NOT NULL CHECK (length(part) BETWEEN 1 AND 80),
	part_key TEXT NOT NULL,
	PRIMARY KEY (report_id, place),
	UNIQUE (report_id, part_key)
) STRICT, WITHOUT ROWID;
CREATE INDEX report_parts_part ON report_parts (part_key);

-- Who did what to a report: edited (with the words before), merged, linked, removed, put back.
CREATE TABLE report_log (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	report_id INTEGER NOT NULL REFERENCES reports (id) ON DELETE CASCADE,
	at INTEGER NOT NULL,
	member_id INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: a removed member
	act INTEGER NOT NULL CHECK (act BETWEEN 0 AND 7),      -- enum report_act
	remark TEXT NOT NULL CHECK (length(remark) <= 80000)   -- words before, reason, number of a notice
) STRICT;
CREATE INDEX report_log_report ON report_log (report_id);
CREATE INDEX report_log_member ON report_log (member_id);

-- Answers, the reporter's own first. Of one kit the latest counts; all are kept.
CREATE TABLE findings (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	report_id INTEGER NOT NULL REFERENCES reports (id) ON DELETE CASCADE,
	kit INTEGER NOT NULL,                                  -- id of a kit that may be gone
	author INTEGER NOT NULL,                               -- of a member who may be gone
	snapshot_id INTEGER NOT NULL REFERENCES kit_snapshots (id), -- facts as they were
	answer INTEGER NOT NULL CHECK (answer BETWEEN 0 AND 2), -- enum finding_answer
	credit INTEGER NOT NULL CHECK (credit BETWEEN 0 AND 2),
	at INTEGER NOT NULL,
	remark TEXT NOT NULL CHECK (length(remark) <= 5000)    -- CommonMark; '' for none, or removed
) STRICT;
CREATE INDEX findings_report ON findings (report_id, id);
CREATE INDEX findings_author ON findings (author);
CREATE INDEX findings_kit ON findings (kit);
CREATE INDEX findings_snapshot ON findings (snapshot_id);

-- Words of reports that stand; rowid is the report's id.
CREATE VIRTUAL TABLE report_search USING fts5 (
	title, seen, look, parts,
	tokenize = "unicode61 remove_diacritics 2", prefix = '2 3'
);

-- In how many of them a word is.
CREATE VIRTUAL TABLE report_words USING fts5vocab (report_search, row);

-- Pictures, re-encoded and upright, in two sizes, on a note, a report or a finding.
CREATE TABLE pictures (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	note_id INTEGER REFERENCES notes (id) ON DELETE CASCADE,       -- one of the three is given
	report_id INTEGER REFERENCES reports (id) ON DELETE CASCADE,
	finding_id INTEGER REFERENCES findings (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place BETWEEN 0 AND 5),  -- one of six; they stand in the order of id
	words TEXT NOT NULL CHECK (length(words) <= 200),      -- what it shows, '' when not said
	mime TEXT NOT NULL CHECK (mime IN ('image/jpeg', 'image/png')),
	width INTEGER NOT NULL CHECK (width > 0),              -- of the large one
	height INTEGER NOT NULL CHECK (height > 0),
	small_mime TEXT NOT NULL CHECK (small_mime IN ('image/jpeg', 'image/png')),
	small_width INTEGER NOT NULL CHECK (small_width > 0),
	small_height INTEGER NOT NULL CHECK (small_height > 0),
	large INTEGER NOT NULL REFERENCES files (id),
	small INTEGER NOT NULL REFERENCES files (id),
	CHECK ((note_id IS NOT NULL) + (report_id IS NOT NULL) + (finding_id IS NOT NULL) = 1)
) STRICT;
CREATE UNIQUE INDEX pictures_note ON pictures (note_id, place) WHERE note_id IS NOT NULL;
CREATE UNIQUE INDEX pictures_report ON pictures (report_id, place) WHERE report_id IS NOT NULL;
CREATE UNIQUE INDEX pictures_finding ON pictures (finding_id, place) WHERE finding_id IS NOT NULL;
CREATE INDEX pictures_large ON pictures (large);
CREATE INDEX pictures_small ON pictures (small);
-- Bytes that nothing names any more go with the last name.
DROP TRIGGER attachments_last;
CREATE TRIGGER attachments_last AFTER DELETE ON attachments
BEGIN
	DELETE FROM files WHERE id = OLD.file_id
		AND NOT EXISTS (SELECT 1 FROM attachments WHERE file_id = OLD.file_id)
		AND NOT EXISTS (SELECT 1 FROM pictures WHERE large = OLD.file_id)
		AND NOT EXISTS (SELECT 1 FROM pictures WHERE small = OLD.file_id);
END;
CREATE TRIGGER pictures_last AFTER DELETE ON pictures
BEGIN
	DELETE FROM files WHERE id IN (OLD.large, OLD.small)
		AND NOT EXISTS (SELECT 1 FROM attachments WHERE file_id = files.id)
		AND NOT EXISTS (SELECT 1 FROM pictures WHERE large = files.id)
		AND NOT EXISTS (SELECT 1 FROM pictures WHERE small = files.id);
END;

-- A member asks the stewards to look at a note or a report.
CREATE TABLE steward_calls (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	note_id INTEGER REFERENCES notes (id) ON DELETE CASCADE,       -- one of the two is given
	report_id INTEGER REFERENCES reports (id) ON DELETE CASCADE,
	member_id INTEGER REFERENCES members (id) ON DELETE SET NULL,  -- who called; NULL: a removed member
	at INTEGER NOT NULL,
	reason TEXT NOT NULL CHECK (length(reason) BETWEEN 1 AND 2000),
	closed_at INTEGER NOT NULL DEFAULT 0,                  -- 0: waits
	closed_by INTEGER REFERENCES members (id) ON DELETE SET NULL,
	outcome TEXT NOT NULL DEFAULT '' CHECK (length(outcome) <= 2000), -- what the steward did, in words
	CHECK ((note_id IS NOT NULL) + (report_id IS NOT NULL) = 1)
) STRICT;
CREATE INDEX steward_calls_waiting ON steward_calls (id) WHERE closed_at = 0;
CREATE INDEX steward_calls_note ON steward_calls (note_id);
CREATE INDEX steward_calls_report ON steward_calls (report_id);
CREATE INDEX steward_calls_member ON steward_calls (member_id);
CREATE INDEX steward_calls_closed_by ON steward_calls (closed_by);

-- Goes up whenever a kit is made, changed or removed: what is counted over all
-- kits is fresh as long as it stays.
CREATE TABLE kits_generation (
	id INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
	value INTEGER NOT NULL CHECK (value >= 0)
) STRICT;
INSERT INTO kits_generation (id, value) VALUES (1, 0);
CREATE TRIGGER kits_generation_made AFTER INSERT ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
END;
CREATE TRIGGER kits_generation_changed AFTER UPDATE OF version ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
END;
CREATE TRIGGER kits_generation_gone AFTER DELETE ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
END;
