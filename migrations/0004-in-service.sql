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
