-- Material that can be counted and looked up, packing lists, stock that is cut.
--
-- Quantities are thousandths of their unit; the unit is '' for pieces. Lengths
-- are text as typed, core/length.h reads them. Prices are hundredths of the
-- chapter's money.

ALTER TABLE revision_material ADD COLUMN part TEXT NOT NULL DEFAULT '' -- number or stock code to look up; '': the item
	CHECK (length(part) <= 80);
ALTER TABLE revision_material ADD COLUMN cut TEXT NOT NULL DEFAULT ''  -- lengths to cut of it, '' for none
	CHECK (length(cut) <= 500);

-- What the maker packed into a sub-kit that was shipped on certain days.
CREATE TABLE packing_lists (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	name TEXT NOT NULL CHECK (length(name) BETWEEN 1 AND 80), -- as printed on it
	name_key TEXT NOT NULL UNIQUE CHECK (name_key <> ''),
	subkit TEXT NOT NULL CHECK (length(subkit) BETWEEN 1 AND 80),
	title TEXT NOT NULL CHECK (length(title) <= 200),
	valid_from TEXT NOT NULL                               -- shipped on this day or later, '' open
		CHECK (valid_from = '' OR valid_from GLOB '[12][0-9][0-9][0-9]*'),
	valid_to TEXT NOT NULL                                 -- or earlier, '' open
		CHECK (valid_to = '' OR valid_to GLOB '[12][0-9][0-9][0-9]*')
) STRICT;

CREATE TABLE packing_list_models (
	list_id INTEGER NOT NULL REFERENCES packing_lists (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	model TEXT NOT NULL CHECK (length(model) BETWEEN 1 AND 80),
	model_key TEXT NOT NULL,
	PRIMARY KEY (list_id, place),
	UNIQUE (list_id, model_key)
) STRICT, WITHOUT ROWID;

CREATE TABLE packing_list_parts (
	list_id INTEGER NOT NULL REFERENCES packing_lists (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	bag TEXT NOT NULL CHECK (length(bag) <= 80),           -- bag or crate, '' when not said
	part TEXT NOT NULL CHECK (length(part) BETWEEN 1 AND 80),
	quantity INTEGER NOT NULL CHECK (quantity BETWEEN 1 AND 1000000000),
	unit TEXT NOT NULL CHECK (length(unit) <= 80),
	remark TEXT NOT NULL CHECK (length(remark) <= 500),
	PRIMARY KEY (list_id, place)
) STRICT, WITHOUT ROWID;

-- Part numbers that took the place of others; circles are core's to refuse.
CREATE TABLE number_changes (
	old TEXT NOT NULL CHECK (length(old) BETWEEN 1 AND 80),
	old_key TEXT NOT NULL PRIMARY KEY CHECK (old_key <> ''),
	later TEXT NOT NULL CHECK (length(later) BETWEEN 1 AND 80)
) STRICT, WITHOUT ROWID;

-- What is sold by length and cut.
CREATE TABLE stock_codes (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	code TEXT NOT NULL CHECK (length(code) BETWEEN 1 AND 80),
	code_key TEXT NOT NULL UNIQUE CHECK (code_key <> ''),
	title TEXT NOT NULL CHECK (length(title) <= 200)
) STRICT;

CREATE TABLE stock_lengths (
	stock_id INTEGER NOT NULL REFERENCES stock_codes (id) ON DELETE CASCADE,
	place INTEGER NOT NULL CHECK (place >= 0),
	length TEXT NOT NULL CHECK (length(length) BETWEEN 1 AND 40),
	price INTEGER CHECK (price BETWEEN 0 AND 999999999),   -- NULL: not known
	PRIMARY KEY (stock_id, place)
) STRICT, WITHOUT ROWID;

-- Is this kit counted in the shopping list of the chapter? Its builder agrees first.
ALTER TABLE kits ADD COLUMN counted_in INTEGER NOT NULL DEFAULT 0 CHECK (counted_in IN (0, 1));

-- What a builder counted, got, used or lost, oldest first; an entry may be taken back.
CREATE TABLE kit_stock (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	part TEXT NOT NULL CHECK (length(part) BETWEEN 1 AND 80),
	unit TEXT NOT NULL CHECK (length(unit) <= 80),
	act INTEGER NOT NULL CHECK (act BETWEEN 0 AND 3),      -- enum stock_act
	quantity INTEGER NOT NULL CHECK (quantity BETWEEN 0 AND 1000000000),
	record_id INTEGER REFERENCES records (id) ON DELETE CASCADE, -- the record that it answers; NULL: none
	remark TEXT NOT NULL CHECK (length(remark) <= 500),
	entered_at INTEGER NOT NULL
) STRICT;
CREATE INDEX kit_stock_kit ON kit_stock (kit_id);
CREATE INDEX kit_stock_record ON kit_stock (record_id);

-- Lengths that a builder wants besides those of notices, and bars on hand.
CREATE TABLE kit_lengths (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	use INTEGER NOT NULL CHECK (use IN (0, 1)),            -- wanted, on hand
	stock TEXT NOT NULL CHECK (length(stock) BETWEEN 1 AND 80), -- code
	cut TEXT NOT NULL CHECK (length(cut) BETWEEN 1 AND 500), -- list of lengths
	remark TEXT NOT NULL CHECK (length(remark) <= 500)
) STRICT;
CREATE INDEX kit_lengths_kit ON kit_lengths (kit_id);
