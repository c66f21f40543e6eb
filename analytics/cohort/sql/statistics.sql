-- What lifters did of each setup: all that is known of a cohort before any fit.
-- grain:   one row per lifter, setup as logged and counting of the load
-- returns: movement TEXT, lifter TEXT, variant TEXT, equipment TEXT,
--          range_from_deg DOUBLE, range_to_deg DOUBLE, arms_share DOUBLE, sets BIGINT,
--          with_effort BIGINT, holds BIGINT, first_on TIMESTAMP, last_on TIMESTAMP,
--          heaviest_kg DOUBLE, load_sum_kg DOUBLE, load_square_kg2 DOUBLE,
--          reps_sum DOUBLE, log_load_sum DOUBLE
-- params:  none; relation sets
SELECT movement, lifter, variant, equipment, range_from_deg, range_to_deg, arms_share,
    count(*) AS sets,
    count(CASE WHEN failed OR rir IS NOT NULL THEN 1 END) AS with_effort,
    count(hold_s) AS holds,
    min(performed_on) AS first_on, max(performed_on) AS last_on,
    max(load_kg) AS heaviest_kg, sum(load_kg) AS load_sum_kg,
    sum(load_kg * load_kg) AS load_square_kg2, sum(reps) AS reps_sum,
    sum(CASE WHEN load_kg > 0 THEN ln(load_kg) END) AS log_load_sum
FROM sets
GROUP BY movement, lifter, variant, equipment, range_from_deg, range_to_deg, arms_share
ORDER BY movement, lifter, variant, equipment, range_from_deg NULLS FIRST,
    range_to_deg NULLS FIRST, arms_share
