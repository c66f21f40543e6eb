-- Codes of lifters anywhere in the store but in rows that wait.
-- grain:   one row per code
-- returns: lifter TEXT
-- params:  none
SELECT lifter FROM logged_set
UNION
SELECT lifter FROM body
UNION
SELECT lifter FROM traced_rep
UNION
SELECT unnest([before, after]) AS lifter FROM set_history WHERE column_name = 'lifter'
ORDER BY lifter
