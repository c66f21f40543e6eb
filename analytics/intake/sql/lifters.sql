-- Lifters of the sets read.
-- grain:   one row per lifter
-- returns: lifter TEXT
-- params:  none; table numbered
SELECT DISTINCT lifter
FROM numbered
ORDER BY lifter
