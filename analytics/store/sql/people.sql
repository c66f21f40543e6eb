-- Who may sign in, and whose logs are for them.
-- grain:   one row per person
-- returns: address TEXT, role TEXT, lifters TEXT[], added_at TIMESTAMP
-- params:  none
SELECT p.address, p.role,
    coalesce(list(l.lifter ORDER BY l.lifter) FILTER (WHERE l.lifter IS NOT NULL), [])
        AS lifters,
    p.added_at
FROM person AS p
LEFT JOIN person_lifter AS l ON l.address = p.address
GROUP BY p.address, p.role, p.added_at
ORDER BY p.address
