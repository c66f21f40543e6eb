-- Forget names that no set or trace has any more, unless a person said what they mean.
-- grain:   deletes rows of exercise_name
-- returns: nothing
-- params:  none
DELETE FROM exercise_name
WHERE decided_by <> 'person' AND name_key NOT IN (
    SELECT name_key FROM logged_set
    UNION
    SELECT name_key FROM traced_rep
)
