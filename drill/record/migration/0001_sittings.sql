-- Every instant and every length of time is in nanoseconds: the former since 1970 in UTC or since the sitting began, as
-- said beside it. Rows are only ever added.

CREATE TABLE trainee (
	id   INTEGER PRIMARY KEY,
	name TEXT NOT NULL UNIQUE
) STRICT;

CREATE TABLE sitting (
	id         INTEGER PRIMARY KEY,
	uid        TEXT NOT NULL UNIQUE,            -- the same in the file of a sitting that could not be stored at first
	trainee    INTEGER REFERENCES trainee (id), -- NULL: nobody gave a name
	scenario   TEXT NOT NULL,
	procedure  TEXT NOT NULL,
	profile    TEXT NOT NULL,
	mode       TEXT NOT NULL,
	seed       INTEGER NOT NULL,                -- the bits of an unsigned number
	started_ns INTEGER NOT NULL,                -- since 1970
	version    TEXT NOT NULL,                   -- of the program
	plan       TEXT NOT NULL,                   -- hash of the documents
	layout     TEXT NOT NULL,                   -- of the keyboard
	lead_ns    INTEGER NOT NULL,                -- how far ahead sounds were asked for
	buffer_ns  INTEGER NOT NULL,                -- of the sound output
	latency_ns INTEGER NOT NULL                 -- of the sound output
) STRICT;

-- No row here: the sitting was killed, or still goes on.
CREATE TABLE result (
	sitting  INTEGER PRIMARY KEY REFERENCES sitting (id),
	ended_ns INTEGER NOT NULL,                  -- since 1970
	complete INTEGER NOT NULL CHECK (complete IN (0, 1)),
	body     TEXT NOT NULL CHECK (json_valid(body))
) STRICT;

CREATE TABLE event (
	sitting INTEGER NOT NULL REFERENCES sitting (id),
	seq     INTEGER NOT NULL,                   -- from 1, without gaps
	at_ns   INTEGER NOT NULL,                   -- since the sitting began
	kind    TEXT NOT NULL,
	body    TEXT NOT NULL CHECK (json_valid(body)),
	PRIMARY KEY (sitting, seq)
) STRICT, WITHOUT ROWID;

CREATE TABLE input (
	sitting INTEGER NOT NULL REFERENCES sitting (id),
	seq     INTEGER NOT NULL,                   -- from 1, without gaps
	at_ns   INTEGER NOT NULL,                   -- since the sitting began
	body    TEXT NOT NULL CHECK (json_valid(body)),
	PRIMARY KEY (sitting, seq)
) STRICT, WITHOUT ROWID;

CREATE INDEX sitting_by_start ON sitting (started_ns);

CREATE TRIGGER sitting_kept BEFORE DELETE ON sitting BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER sitting_fixed BEFORE UPDATE ON sitting BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER result_kept BEFORE DELETE ON result BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER result_fixed BEFORE UPDATE ON result BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER event_kept BEFORE DELETE ON event BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER event_fixed BEFORE UPDATE ON event BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER input_kept BEFORE DELETE ON input BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER input_fixed BEFORE UPDATE ON input BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
