-- Fingerprint of the sets of one movement; changes when any value a fit sees changes.
-- grain:   one row
-- returns: sets BIGINT, mix UBIGINT, bodies UBIGINT
-- params:  $variants TEXT[] (of the movement)
SELECT count(*) AS sets,
    coalesce(bit_xor(hash(
        s.set_key, n.variant, s.lifter, s.performed_on, s.equipment, s.side, s.load_kg,
        s.load_counts, s.reps, s.rir, s.failed, s.range_from_deg, s.range_to_deg, s.hold_s,
        s.angle_deg, s.failed_at_deg, s.rotation_deg, s.stance, s.lean_deg, s.heave,
        s.pain, s.body_mass_kg
    )), 0) AS mix,
    (SELECT coalesce(bit_xor(hash(body_key)), 0) FROM body) AS bodies
FROM logged_set AS s
JOIN exercise_name AS n ON n.name_key = s.name_key
WHERE NOT s.deleted AND list_contains($variants, n.variant)
ORDER BY sets
