-- Entries with rows of several sets unfolded; what cannot be unfolded stays one entry.
-- grain:   one row per set
-- returns: the columns of entry
-- params:  none; view entry, table unfolded
CREATE TEMP TABLE unfolded_entry AS
SELECT e.* REPLACE (
    e.slot + coalesce(u.position, 0) AS slot,
    CASE WHEN u.sets IS NULL THEN e.load ELSE nullif(u.its_load, '') END AS load,
    CASE WHEN u.sets IS NULL THEN e.reps ELSE nullif(u.its_reps, '') END AS reps,
    coalesce(nullif(u.its_side, ''), e.side) AS side,
    coalesce(e.rir, nullif(u.its_rir, '')) AS rir,
    coalesce(e.rpe, nullif(u.its_rpe, '')) AS rpe,
    coalesce(nullif(u.its_failed, ''), e.failed) AS failed,
    CASE
        WHEN u.problem IS NOT NULL THEN u.problem
        WHEN e.rir <> nullif(u.its_rir, '') OR e.rpe <> nullif(u.its_rpe, '')
            THEN 'an effort here and another in its own column'
    END AS sets,
    coalesce(u.accepted, 'one of the two') AS shorthand
)
FROM entry AS e
LEFT JOIN unfolded AS u
    ON u.sets = coalesce(e.sets, '') AND u.load = coalesce(e.load, '')
    AND u.reps = coalesce(e.shorthand, e.reps, '')
