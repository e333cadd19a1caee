-- A sitting goes by a policy, which was called its mode; the names are the same.
--
-- The log and the inputs of a sitting are kept as they were written. In which version of their contract that was is said
-- here: it is the first for all that are there already.
--
-- What a trend is made of comes with the result from whoever has judged it: this database judges nothing any more. The rows
-- that are there already stay.

DROP TRIGGER result_drawn;

ALTER TABLE sitting RENAME COLUMN mode TO policy;
ALTER TABLE sitting ADD COLUMN log_version INTEGER NOT NULL DEFAULT 1;

ALTER TABLE incident RENAME TO injection;
