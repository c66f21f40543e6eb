-- Exercise names of the new sets, as written.
-- grain:   one row per name
-- returns: text TEXT
-- params:  $intake_id INTEGER; tables name_cell, logged_set
SELECT any_value(text) AS text
FROM name_cell
WHERE name_key IN (SELECT DISTINCT name_key FROM logged_set WHERE intake_id = $intake_id)
GROUP BY name_key
