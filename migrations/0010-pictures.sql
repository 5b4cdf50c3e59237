-- Who added a picture and when: so many a day.
ALTER TABLE pictures ADD COLUMN added_by INTEGER REFERENCES members (id) ON DELETE SET NULL; -- NULL: before this was kept, or a removed member
ALTER TABLE pictures ADD COLUMN added_at INTEGER NOT NULL DEFAULT 0;                         -- 0: before this was kept
CREATE INDEX pictures_added ON pictures (added_by, id) WHERE added_by IS NOT NULL;
