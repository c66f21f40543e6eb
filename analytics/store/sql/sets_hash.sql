-- Fingerprint of the sets of one movement; changes when any value a fit sees changes.
-- grain:   one row
-- returns: sets BIGINT, mix UBIGINT, bodies UBIGINT, weighings UBIGINT (beside sets of any
--          movement, since they give the body mass of a day)
-- params:  $variants TEXT[] (of the movement)
WITH said_right AS (  -- as in sets.sql: such a set is no longer flagged
    SELECT set_key FROM set_history
    WHERE column_name IN ('doubt', 'load_kg', 'reps', 'name_key')
    GROUP BY set_key HAVING arg_max(column_name, changed_at) = 'doubt'
)
SELECT count(*) AS sets,
    coalesce(bit_xor(hash(
        s.set_key, n.variant, s.lifter, s.performed_on, d.on_body, s.equipment, d.side, s.load_kg,
        d.load_counts, s.reps, s.rir, d.rir_half, s.failed, d.range_from_deg, d.range_to_deg,
        d.hold_s, d.angle_deg, d.failed_at_deg, d.rotation_deg, d.stance, d.lean_deg, d.cheat,
        d.pain, d.body_mass_kg, r.set_key
    )), 0) AS mix,
    (SELECT coalesce(bit_xor(hash(body_key)), 0) FROM body) AS bodies,
    (
        SELECT coalesce(bit_xor(hash(w.set_key, w.lifter, w.performed_on, d.body_mass_kg)), 0)
        FROM set_detail AS d
        JOIN logged_set AS w ON w.set_key = d.set_key
        ANTI JOIN deleted_set AS x ON x.set_key = d.set_key
        WHERE d.body_mass_kg IS NOT NULL
    ) AS weighings
FROM logged_set AS s
LEFT JOIN set_detail AS d ON d.set_key = s.set_key
LEFT JOIN said_right AS r ON r.set_key = s.set_key
JOIN exercise_name AS n ON n.name_key = s.name_key
ANTI JOIN deleted_set AS x ON x.set_key = s.set_key
WHERE list_contains($variants, n.variant)
ORDER BY sets
