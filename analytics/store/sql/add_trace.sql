-- One trace file among the intakes.
-- grain:   inserts one row of intake
-- returns: nothing
-- params:  $intake_id INTEGER, $file TEXT, $file_hash TEXT, $now TIMESTAMP, $reps BIGINT
INSERT INTO intake
SELECT $intake_id, $file, $file_hash, '', 'traces', $now, '', '[]',
    $reps, $reps, 0, 0, 0, 0, true, NULL
