-- Hashes by which a change made outside the program is seen (store/seals.h),
-- and the copies that were made of the database.
--
-- The triggers that keep the hashes are not here: the program makes them anew
-- after every migration, from the columns that the tables then have.

-- For each table and each thing whose rows stand in it: the hashes of these
-- rows, one XORed with the other, so that their order does not matter.
CREATE TABLE seals (
	of TEXT NOT NULL CHECK (of <> ''),                     -- table
	owner INTEGER NOT NULL,                                -- id of the kit, notice, ... ; 0: the table as a whole
	seal BLOB NOT NULL CHECK (length(seal) = 32),
	PRIMARY KEY (of, owner)
) STRICT, WITHOUT ROWID;

-- Logs that are only added to: for each entry BLAKE2b-256 over the hash of
-- the one before (zeros for the first) and the entry.
CREATE TABLE chains (
	of TEXT NOT NULL CHECK (of <> ''),                     -- table of the log
	entry INTEGER NOT NULL,                                -- id in it
	hash BLOB NOT NULL CHECK (length(hash) = 32),
	PRIMARY KEY (of, entry)
) STRICT, WITHOUT ROWID;

-- Copies made, and those that failed: the newest of them.
CREATE TABLE copies (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	at INTEGER NOT NULL,                                   -- when it ended
	size INTEGER NOT NULL CHECK (size >= 0),               -- bytes; 0: there is none
	path TEXT NOT NULL CHECK (length(path) BETWEEN 1 AND 4096), -- where it was to be
	fault TEXT NOT NULL CHECK (length(fault) <= 500),      -- '' for a good one
	told INTEGER NOT NULL DEFAULT 0 CHECK (told IN (0, 1)) -- have the admins been told of the fault?
) STRICT;

-- One row that /health writes to, to see whether the disk takes it.
CREATE TABLE trial (
	id INTEGER NOT NULL PRIMARY KEY CHECK (id = 1),
	at INTEGER NOT NULL                                    -- when it was written last
) STRICT;
INSERT INTO trial (id, at) VALUES (1, 0);
