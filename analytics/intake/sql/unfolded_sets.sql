-- How many sets the rows hold, before they are made.
-- grain:   one row
-- returns: sets BIGINT
-- params:  none; view entry, table unfolded
SELECT count(*) AS sets
FROM entry AS e
LEFT JOIN unfolded AS u
    ON u.sets = coalesce(e.sets, '') AND u.load = coalesce(e.load, '')
    AND u.reps = coalesce(e.shorthand, e.reps, '')
