-- Which kits have changed since: whoever keeps the facts of all kits in memory
-- takes up just these. One row a kit that was ever made, those removed too.
CREATE TABLE kit_changes (
	kit_id INTEGER NOT NULL PRIMARY KEY,
	at INTEGER NOT NULL CHECK (at >= 0) -- kits_generation as the change left it
) STRICT;
CREATE INDEX kit_changes_at ON kit_changes (at);

DROP TRIGGER kits_generation_made;
DROP TRIGGER kits_generation_changed;
DROP TRIGGER kits_generation_gone;

CREATE TRIGGER kits_generation_made AFTER INSERT ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
	INSERT OR REPLACE INTO kit_changes (kit_id, at)
		SELECT NEW.id, value FROM kits_generation;
END;
CREATE TRIGGER kits_generation_changed AFTER UPDATE OF version ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
	INSERT OR REPLACE INTO kit_changes (kit_id, at)
		SELECT NEW.id, value FROM kits_generation;
END;
CREATE TRIGGER kits_generation_gone AFTER DELETE ON kits
BEGIN
	UPDATE kits_generation SET value = value + 1;
	INSERT OR REPLACE INTO kit_changes (kit_id, at)
		SELECT OLD.id, value FROM kits_generation;
END;
