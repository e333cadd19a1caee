-- What a sitting showed of each thing to know, drawn from its log by the score and packed by it: this database does not look into
-- it. It can be drawn again at any time, so a row may be replaced, and is where the rules have changed.
CREATE TABLE trials (
	sitting INTEGER PRIMARY KEY REFERENCES sitting (id),
	rules   INTEGER NOT NULL,                   -- of the score
	version TEXT NOT NULL,                      -- of the program that drew it
	body    BLOB                                -- NULL: that program could not judge the sitting
) STRICT;

-- What is known of everything that a trainee has met, as it was when it was last asked for: a shortcut that is thrown away and
-- made anew whenever it does not fit the sittings any more.
CREATE TABLE known (
	trainee INTEGER PRIMARY KEY REFERENCES trainee (id),
	body    BLOB NOT NULL
) STRICT;

-- By how much the clock of the records had been moved when a sitting began, in nanoseconds; 0: it had not been.
ALTER TABLE sitting ADD COLUMN moved_ns INTEGER NOT NULL DEFAULT 0;

CREATE INDEX sitting_by_trainee_place ON sitting (trainee, place);
