-- Build lines of models, and when a builder did a step.

-- One line for each model. version goes up with every change of what it holds.
CREATE TABLE lines (
	id INTEGER PRIMARY KEY AUTOINCREMENT,                  -- never used again for another
	model TEXT NOT NULL CHECK (length(model) BETWEEN 1 AND 80),
	model_key TEXT NOT NULL UNIQUE CHECK (model_key <> ''),
	version INTEGER NOT NULL CHECK (version >= 1),
	editor INTEGER REFERENCES members (id) ON DELETE SET NULL, -- who changed it last; NULL: nobody, or a removed member
	edited_at INTEGER NOT NULL
) STRICT;
CREATE INDEX lines_editor ON lines (editor);

CREATE TABLE line_sections (
	line_id INTEGER NOT NULL REFERENCES lines (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 80),
	code_key TEXT NOT NULL,
	title TEXT NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
	PRIMARY KEY (line_id, place),
	UNIQUE (line_id, code_key)
) STRICT, WITHOUT ROWID;

-- Steps in the order of building; sections follow each other.
CREATE TABLE line_steps (
	line_id INTEGER NOT NULL,
	place INTEGER NOT NULL CHECK (place >= 0),             -- in the whole line
	section INTEGER NOT NULL,                              -- place of its section
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 80),
	code_key TEXT NOT NULL,
	title TEXT NOT NULL CHECK (length(title) BETWEEN 1 AND 200),
	hours INTEGER NOT NULL CHECK (hours BETWEEN 0 AND 999900), -- hundredths
	hours_to_open INTEGER CHECK (hours_to_open BETWEEN 0 AND 999900), -- hundredths; NULL: not stated
	PRIMARY KEY (line_id, place),
	UNIQUE (line_id, code_key),
	FOREIGN KEY (line_id, section) REFERENCES line_sections (line_id, place) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;
CREATE INDEX line_steps_section ON line_steps (line_id, section);

-- Names that a step lists: parts, steps needed first, zones worked in, zones closed.
CREATE TABLE line_names (
	line_id INTEGER NOT NULL,
	step INTEGER NOT NULL,                                 -- place of the step
	list INTEGER NOT NULL CHECK (list BETWEEN 0 AND 3),    -- parts, needs, works in, closes
	place INTEGER NOT NULL CHECK (place >= 0),
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80),
	PRIMARY KEY (line_id, step, list, place),
	FOREIGN KEY (line_id, step) REFERENCES line_steps (line_id, place) ON DELETE CASCADE
) STRICT, WITHOUT ROWID;

-- When a step was done, as the builder says; '' when not said. Notices done have no date here.
ALTER TABLE kit_names ADD COLUMN done TEXT NOT NULL DEFAULT ''
	CHECK (done = '' OR (list = 0 AND done GLOB '[12][0-9][0-9][0-9]*'));
