-- A trace file is an intake like any other, so that it can be undone.

CREATE TABLE intake_of_any_kind (
    intake_id INTEGER NOT NULL,
    file TEXT NOT NULL,
    file_hash TEXT NOT NULL,
    reading_hash TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('sets', 'bodies', 'traces')),
    taken_at TIMESTAMP NOT NULL,
    column_map TEXT NOT NULL,
    headers TEXT NOT NULL,
    rows_read BIGINT NOT NULL,
    rows_added BIGINT NOT NULL,
    rows_known BIGINT NOT NULL,
    rows_rejected BIGINT NOT NULL,
    sets_added BIGINT NOT NULL,
    already_known BIGINT NOT NULL,
    whole BOOLEAN NOT NULL,
    undone_at TIMESTAMP,
    CHECK (rows_read = rows_added + rows_known + rows_rejected)
);
INSERT INTO intake_of_any_kind SELECT * FROM intake;
DROP TABLE intake;
ALTER TABLE intake_of_any_kind RENAME TO intake;
COMMENT ON COLUMN intake.intake_id IS 'Number of this reading of one file; never used again.';
COMMENT ON COLUMN intake.file IS 'File name without its folder.';
COMMENT ON COLUMN intake.file_hash IS 'SHA-256 of the bytes of the file.';
COMMENT ON COLUMN intake.reading_hash IS 'SHA-256 of how the file was read: columns, units, dates, lifter; empty for traces.';
COMMENT ON COLUMN intake.kind IS 'What the file holds: sets, bodies or traces.';
COMMENT ON COLUMN intake.taken_at IS 'When it was stored, local time.';
COMMENT ON COLUMN intake.column_map IS 'The column map used, as TOML; empty for traces.';
COMMENT ON COLUMN intake.headers IS 'Mapped headers as a JSON list, in the order of rejected_row.cells.';
COMMENT ON COLUMN intake.rows_read IS 'Rows of the file below its header that are not blank; of a trace the repetitions found.';
COMMENT ON COLUMN intake.rows_added IS 'Rows of which at least one set was new; of a trace the repetitions found.';
COMMENT ON COLUMN intake.rows_known IS 'Rows of which every set was in the store already.';
COMMENT ON COLUMN intake.rows_rejected IS 'Rejected rows with a reason.';
COMMENT ON COLUMN intake.sets_added IS 'Sets this intake added; a row can hold several.';
COMMENT ON COLUMN intake.already_known IS 'Sets that were in the store already.';
COMMENT ON COLUMN intake.whole IS 'Everything this file holds is in the store, so the same file adds nothing.';
COMMENT ON COLUMN intake.undone_at IS 'When what it added was undone; NULL while it counts.';

ALTER TABLE traced_rep ADD COLUMN intake_id INTEGER;
COMMENT ON COLUMN traced_rep.intake_id IS 'Intake that added the repetition.';

-- Traces kept before had no number and their file name was not kept.
INSERT INTO intake
SELECT (SELECT coalesce(max(intake_id), 0) FROM intake) + row_number() OVER (ORDER BY file_hash),
    'trace ' || left(file_hash, 8), file_hash, '', 'traces', CAST(now() AS TIMESTAMP), '', '[]',
    count(*), count(*), 0, 0, 0, 0, true, NULL
FROM traced_rep
GROUP BY file_hash;
UPDATE traced_rep SET intake_id = i.intake_id
FROM intake AS i
WHERE i.kind = 'traces' AND i.file_hash = traced_rep.file_hash;
