-- Limits in service: compliance times to be computed, and a kit's log of hours
-- and landings.

-- The compliance time as a statement of limits (core/due.h), beside the
-- issuer's own words; it takes the place of the three columns for repeats.
ALTER TABLE revisions ADD COLUMN due TEXT NOT NULL DEFAULT '' -- '' when no time is given
	CHECK (length(due) <= 4000);
UPDATE revisions SET due = 'then'
	|| CASE WHEN repeat_hours = 0 THEN '' ELSE char(10) || 'every '
		|| rtrim(rtrim(printf('%.2f', repeat_hours / 100.0), '0'), '.') || ' hours' END
	|| CASE WHEN repeat_landings = 0 THEN '' ELSE char(10) || 'every '
		|| repeat_landings || ' landings' END
	|| CASE WHEN repeat_months = 0 THEN '' ELSE char(10) || 'every '
		|| repeat_months || ' calendar months' END
	|| CASE WHEN (repeat_hours > 0) + (repeat_landings > 0) + (repeat_months > 0) > 1
		THEN char(10) || 'whichever first' ELSE '' END
	WHERE repeat_hours + repeat_landings + repeat_months > 0;
ALTER TABLE revisions DROP COLUMN repeat_hours;
ALTER TABLE revisions DROP COLUMN repeat_landings;
ALTER TABLE revisions DROP COLUMN repeat_months;

-- What the counters of a kit showed at the end of a day; an entry may name an
-- event of that day. Only added to: a correction is an entry that names the
-- one it corrects, which then counts no more.
CREATE TABLE kit_log (
	id INTEGER PRIMARY KEY AUTOINCREMENT,
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	corrects INTEGER UNIQUE REFERENCES kit_log (id)
		DEFERRABLE INITIALLY DEFERRED,                     -- NULL: a first entry
	withdraws INTEGER NOT NULL CHECK (withdraws IN (0, 1)),
	day TEXT NOT NULL
		CHECK (day GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
	hours INTEGER CHECK (hours BETWEEN 0 AND 999999999),   -- hundredths, in total; NULL: not given
	landings INTEGER CHECK (landings BETWEEN 0 AND 9999999), -- in total; NULL: not given
	event TEXT NOT NULL CHECK (length(event) <= 80),       -- '' for none
	event_key TEXT NOT NULL,
	entered_by TEXT NOT NULL CHECK (length(entered_by) <= 80), -- name at the time of entry
	entered_at INTEGER NOT NULL,
	CHECK (withdraws = 0 OR corrects IS NOT NULL),
	CHECK (withdraws = 1 OR hours IS NOT NULL OR landings IS NOT NULL OR event <> '')
) STRICT;
CREATE INDEX kit_log_kit ON kit_log (kit_id, day);
CREATE TRIGGER kit_log_unchanged BEFORE UPDATE ON kit_log
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
CREATE TRIGGER kit_log_not_replaced BEFORE INSERT ON kit_log
WHEN EXISTS (SELECT 1 FROM kit_log WHERE id = NEW.id OR corrects = NEW.corrects)
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;
-- When a whole kit goes it is gone before its log follows.
CREATE TRIGGER kit_log_stays BEFORE DELETE ON kit_log
WHEN EXISTS (SELECT 1 FROM kits WHERE id = OLD.kit_id)
BEGIN
	SELECT RAISE(ABORT, 'the log is only added to');
END;

-- Events to come, as the builder plans them.
CREATE TABLE kit_planned (
	kit_id INTEGER NOT NULL REFERENCES kits (id) ON DELETE CASCADE,
	event TEXT NOT NULL CHECK (length(event) BETWEEN 1 AND 80),
	event_key TEXT NOT NULL,
	day TEXT NOT NULL                                      -- '' when it is planned by hours alone
		CHECK (day = '' OR day GLOB '[12][0-9][0-9][0-9]-[01][0-9]-[0-3][0-9]'),
	hours INTEGER CHECK (hours BETWEEN 0 AND 999999999),   -- total time; NULL: by the day alone
	PRIMARY KEY (kit_id, event_key),
	CHECK (day <> '' OR hours IS NOT NULL)
) STRICT, WITHOUT ROWID;

-- Hours and landings of a kit are those of the newest entry of its log. What
-- the facts held until now becomes one: what was known on this day.
INSERT INTO kit_log (kit_id, withdraws, day, hours, landings, event, event_key, entered_by,
		entered_at)
	SELECT k.id, 0, date('now'), k.hours, k.landings, '', '', m.name, unixepoch()
	FROM kits k JOIN members m ON m.id = k.owner
	WHERE k.hours IS NOT NULL OR k.landings IS NOT NULL;
ALTER TABLE kits DROP COLUMN hours;
ALTER TABLE kits DROP COLUMN landings;
