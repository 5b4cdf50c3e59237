-- Do stewards see the kit by name where a notice concerns it? Off until its builder says so.
ALTER TABLE kits ADD COLUMN named INTEGER NOT NULL DEFAULT 0 CHECK (named IN (0, 1)); -- 0: counted only; 1: its name, owner, model and serial
