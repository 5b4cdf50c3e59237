-- The serial number of the engine, a fact of the kit.
ALTER TABLE kits ADD COLUMN engine_serial TEXT NOT NULL DEFAULT '' -- '' when not known
	CHECK (length(engine_serial) <= 40);
ALTER TABLE kit_snapshots ADD COLUMN engine_serial TEXT NOT NULL DEFAULT '' -- '' when not known
	CHECK (length(engine_serial) <= 40);
