-- Where a sitting stands among the others. That is when it began, as long as the clock of the machine goes forward; of a clock that was set
-- back since the sitting before, the order in which they were sat has the last word.
DROP TRIGGER sitting_fixed;
ALTER TABLE sitting ADD COLUMN place INTEGER NOT NULL DEFAULT 0; -- ns since 1970, or a little after the one before
UPDATE sitting SET place = started_ns;
CREATE TRIGGER sitting_fixed BEFORE UPDATE ON sitting BEGIN SELECT RAISE (ABORT, 'records are only added to'); END;
CREATE INDEX sitting_by_place ON sitting (place);
