-- The documents of a sitting are kept with it, once for all sittings that had the same, so that its score can always be
-- computed again from its log.

CREATE TABLE plan (
	hash TEXT PRIMARY KEY,                      -- as in sitting.plan
	body TEXT NOT NULL CHECK (json_valid(body)) -- the documents
) STRICT, WITHOUT ROWID;

-- What a trend is made of, drawn from each result as it is stored: a history of thousands of results is slow to parse.
-- A number that a result does not have is NULL.

CREATE TABLE summary (
	sitting     INTEGER PRIMARY KEY REFERENCES sitting (id),
	passed      INTEGER NOT NULL,
	asked       INTEGER NOT NULL,               -- items
	done_right  INTEGER NOT NULL,               -- of them
	reactions   INTEGER NOT NULL,               -- how many the median rests on
	reaction_ms REAL                            -- median
) STRICT;

CREATE TABLE incident (
	sitting      INTEGER NOT NULL REFERENCES sitting (id),
	number       INTEGER NOT NULL,              -- from 0
	abnormal     TEXT NOT NULL,
	harmless     INTEGER NOT NULL,
	outcome      TEXT NOT NULL,
	detection_ms REAL,
	handling_ms  REAL,
	PRIMARY KEY (sitting, number)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER result_drawn AFTER INSERT ON result BEGIN
	INSERT INTO summary
		SELECT NEW.sitting,
			coalesce(CAST(json_extract(NEW.body, '$.passed') AS INTEGER), 0),
			(SELECT count(*) FROM json_each(NEW.body, '$.items') WHERE json_extract(value, '$.outcome') <> 'not-asked'),
			(SELECT count(*) FROM json_each(NEW.body, '$.items') WHERE json_extract(value, '$.outcome') = 'right'),
			coalesce(CAST(json_extract(NEW.body, '$.reactions.count') AS INTEGER), 0),
			CASE WHEN json_extract(NEW.body, '$.reactions.count') > 0
				THEN CAST(json_extract(NEW.body, '$.reactions.median_ms') AS REAL) END;
	INSERT INTO incident
		SELECT NEW.sitting, key,
			coalesce(CAST(json_extract(value, '$.abnormal') AS TEXT), ''),
			coalesce(CAST(json_extract(value, '$.harmless') AS INTEGER), 0),
			coalesce(CAST(json_extract(value, '$.outcome') AS TEXT), ''),
			CAST(json_extract(value, '$.detection_ms') AS REAL),
			CAST(json_extract(value, '$.handling_ms') AS REAL)
		FROM json_each(NEW.body, '$.injections') WHERE json_type(NEW.body, '$.injections') = 'array' AND type = 'object';
END;

-- The results that are there already are drawn from by being stored once more.
DROP TRIGGER result_kept;
CREATE TEMP TABLE stored AS SELECT * FROM result;
DELETE FROM result;
INSERT INTO result SELECT * FROM stored;
DROP TABLE stored;

CREATE INDEX sitting_by_trainee ON sitting (trainee, started_ns);

-- Rows are only ever added, with one exception: a trainee may want to be forgotten. The sittings that are about to be are
-- named here for the length of one transaction.
CREATE TABLE forgotten (sitting INTEGER PRIMARY KEY) STRICT;

DROP TRIGGER sitting_kept;
DROP TRIGGER event_kept;
DROP TRIGGER input_kept;
CREATE TRIGGER sitting_kept BEFORE DELETE ON sitting WHEN OLD.id NOT IN (SELECT sitting FROM forgotten)
	BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER result_kept BEFORE DELETE ON result WHEN OLD.sitting NOT IN (SELECT sitting FROM forgotten)
	BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER event_kept BEFORE DELETE ON event WHEN OLD.sitting NOT IN (SELECT sitting FROM forgotten)
	BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER input_kept BEFORE DELETE ON input WHEN OLD.sitting NOT IN (SELECT sitting FROM forgotten)
	BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER plan_fixed BEFORE UPDATE ON plan BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE TRIGGER plan_kept BEFORE DELETE ON plan WHEN OLD.hash IN (SELECT plan FROM sitting)
	BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
