-- Notes on notices, steps and parts, with answers, history, thanks and
-- pictures; calls for a steward.

-- What a note is about: a notice, or a step of a model's build line, or a part
-- number. Steps and parts are named as typed; they need not be in any list.
CREATE TABLE notes_of_all (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	about INTEGER NOT NULL DEFAULT 0 CHECK (about BETWEEN 0 AND 2),  -- enum note_about: notice, step, part
	notice_id INTEGER REFERENCES notices (id) ON DELETE CASCADE, -- NULL: about a step or a part
	model TEXT NOT NULL DEFAULT '' CHECK (length(model) <= 80), -- of a step, else ''
	model_key TEXT NOT NULL DEFAULT '',
	name TEXT NOT NULL DEFAULT '' CHECK (length(name) <= 80), -- code of the step, number of the part; '' for a notice
	name_key TEXT NOT NULL DEFAULT '',
	answers INTEGER REFERENCES notes_of_all (id) ON DELETE CASCADE, -- the note that this one answers; NULL: a first one
	author INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: a removed member; the words went with them
	written_at INTEGER NOT NULL,
	edited_at INTEGER NOT NULL DEFAULT 0,                  -- 0: as first written
	text TEXT NOT NULL CHECK (length(text) <= 10000),      -- CommonMark as typed; '' when removed
	helped INTEGER NOT NULL DEFAULT 0 CHECK (helped >= 0), -- members whom it helped
	removed_at INTEGER NOT NULL DEFAULT 0,                 -- 0: stands
	removed_by INTEGER REFERENCES members (id) ON DELETE SET NULL, -- NULL: stands, or a removed member
	CHECK ((removed_at = 0) = (text <> '')),
	CHECK ((about = 0) = (notice_id IS NOT NULL)),
	CHECK ((about = 0) = (name_key = '')),
	CHECK ((about = 1) = (model_key <> ''))
) STRICT;
INSERT INTO notes_of_all (id, about, notice_id, model, model_key, name, name_key, author,
		written_at, text, removed_at, removed_by)
	SELECT id, 0, notice_id, '', '', '', '', author, written_at, text, removed_at, removed_by
	FROM notes;
-- No id is given out again, that of a note that went with its author neither.
DELETE FROM sqlite_sequence WHERE name = 'notes_of_all';
INSERT INTO sqlite_sequence (name, seq) SELECT 'notes_of_all', seq FROM sqlite_sequence WHERE name = 'notes';
DROP TABLE notes;
ALTER TABLE notes_of_all RENAME TO notes;
CREATE INDEX notes_notice ON notes (notice_id, answers, helped) WHERE notice_id IS NOT NULL;
CREATE INDEX notes_name ON notes (about, name_key, model_key, answers, helped) WHERE name_key <> '';
CREATE INDEX notes_answers ON notes (answers) WHERE answers IS NOT NULL;
CREATE INDEX notes_author ON notes (author);
CREATE INDEX notes_removed_by ON notes (removed_by);

-- Earlier words of notes that were edited; they go when the note is removed.
-- The key comes first: SQLite 3.40 mixes columns up when it checks types without rowids.
CREATE TABLE note_words_before (
	note_id INTEGER NOT NULL REFERENCES notes (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),             -- from the first
	until INTEGER NOT NULL,                                -- when they were replaced
	text TEXT NOT NULL CHECK (length(text) BETWEEN 1 AND 10000),
	PRIMARY KEY (note_id, place)
) STRICT, WITHOUT ROWID;

-- Whom a note helped.
CREATE TABLE note_helped (
	note_id INTEGER NOT NULL REFERENCES notes (id) ON DELETE CASCADE,
	member_id INTEGER NOT NULL REFERENCES members (id) ON DELETE CASCADE,
	PRIMARY KEY (note_id, member_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX note_helped_member ON note_helped (member_id);
CREATE TRIGGER note_helped_more AFTER INSERT ON note_helped
BEGIN
	UPDATE notes SET helped = helped + 1 WHERE id = NEW.note_id;
END;
CREATE TRIGGER note_helped_less AFTER DELETE ON note_helped
BEGIN
	UPDATE notes SET helped = helped - 1 WHERE id = OLD.note_id;
END;

-- Words of notes that stand; rowid is the note's id. Kept by the store: the
-- schema is not trusted, so no trigger may write here.
CREATE VIRTUAL TABLE note_search USING fts5 (
	text, tokenize = "unicode61 remove_diacritics 2", prefix = '1 2 3'
);
INSERT INTO note_search (rowid, text) SELECT id, text FROM notes WHERE text <> '';
