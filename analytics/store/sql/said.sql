-- What people said of lifters beside their sets.
-- grain:   one row per saying
-- returns: lifter TEXT, what TEXT, said TEXT, said_at TIMESTAMP
-- params:  none
SELECT lifter, 'coach''s note' AS what, note AS said, said_at
FROM coach_note
UNION ALL
SELECT lifter, 'pain is over until', CAST(until AS TEXT), said_at FROM pain_over
UNION ALL
SELECT lifter, 'log withheld', 'yes', since FROM withheld
ORDER BY said_at, lifter, what
