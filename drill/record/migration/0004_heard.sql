-- Whether a sound device was there to be heard. Of earlier sittings nobody knows, and so nothing is claimed.
ALTER TABLE sitting ADD COLUMN heard INTEGER NOT NULL DEFAULT 0;
