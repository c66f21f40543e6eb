-- Keep the confirmed layout of a header.
-- grain:   one row
-- params:  $signature TEXT, $map TEXT, $now TIMESTAMP
INSERT OR REPLACE INTO layout VALUES ($signature, $map, $now)
