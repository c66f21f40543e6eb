-- Sets, where they came from, what was rejected, and what exercise names mean.

CREATE TABLE schema_version (
    version INTEGER NOT NULL,
    applied_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN schema_version.version IS 'Number of the schema file that was applied.';
COMMENT ON COLUMN schema_version.applied_at IS 'When it was applied, local time.';

CREATE TABLE intake (
    intake_id INTEGER NOT NULL,
    file TEXT NOT NULL,
    file_hash TEXT NOT NULL,
    reading_hash TEXT NOT NULL,
    kind TEXT NOT NULL CHECK (kind IN ('sets', 'bodies')),
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
COMMENT ON COLUMN intake.intake_id IS 'Number of this reading of one file; never used again.';
COMMENT ON COLUMN intake.file IS 'File name without its folder.';
COMMENT ON COLUMN intake.file_hash IS 'SHA-256 of the bytes of the file.';
COMMENT ON COLUMN intake.reading_hash IS 'SHA-256 of how the file was read: columns, units, dates, lifter.';
COMMENT ON COLUMN intake.kind IS 'What the file holds: sets or bodies.';
COMMENT ON COLUMN intake.taken_at IS 'When it was stored, local time.';
COMMENT ON COLUMN intake.column_map IS 'The column map used, as TOML.';
COMMENT ON COLUMN intake.headers IS 'Mapped headers as a JSON list, in the order of rejected_row.cells.';
COMMENT ON COLUMN intake.rows_read IS 'Rows of the file below its header that are not blank.';
COMMENT ON COLUMN intake.rows_added IS 'Rows of which at least one set was new.';
COMMENT ON COLUMN intake.rows_known IS 'Rows of which every set was in the store already.';
COMMENT ON COLUMN intake.rows_rejected IS 'Rejected rows with a reason.';
COMMENT ON COLUMN intake.sets_added IS 'Sets this intake added; a row can hold several.';
COMMENT ON COLUMN intake.already_known IS 'Sets that were in the store already.';
COMMENT ON COLUMN intake.whole IS 'Everything this file holds is in the store, so the same file adds nothing.';
COMMENT ON COLUMN intake.undone_at IS 'When its sets were undone; NULL while they count.';

CREATE TABLE logged_set (
    set_key UHUGEINT NOT NULL,
    intake_id INTEGER NOT NULL,
    source_row BIGINT NOT NULL,
    lifter TEXT NOT NULL,
    performed_on DATE NOT NULL,
    name_key TEXT NOT NULL,
    equipment TEXT NOT NULL DEFAULT '',
    load_kg DOUBLE NOT NULL,
    reps DOUBLE,
    rir DOUBLE,
    failed BOOLEAN NOT NULL DEFAULT false
);
COMMENT ON COLUMN logged_set.set_key IS 'Identity: digest of what was logged and its occurrence number that day.';
COMMENT ON COLUMN logged_set.intake_id IS 'Intake that added the set.';
COMMENT ON COLUMN logged_set.source_row IS 'Line or row in the file, counted from 1, header included.';
COMMENT ON COLUMN logged_set.lifter IS 'Code of the lifter, as logged.';
COMMENT ON COLUMN logged_set.performed_on IS 'Local date of the set.';
COMMENT ON COLUMN logged_set.name_key IS 'Normalised exercise name; see exercise_name.';
COMMENT ON COLUMN logged_set.equipment IS 'Which machine, station or bar; empty if not logged.';
COMMENT ON COLUMN logged_set.load_kg IS 'External load the way the log counts it; added to body mass where on_body.';
COMMENT ON COLUMN logged_set.reps IS 'Repetitions; fractions are partial last ones; NULL for a hold.';
COMMENT ON COLUMN logged_set.rir IS 'Repetitions in reserve, or 10 - RPE; NULL if not logged.';
COMMENT ON COLUMN logged_set.failed IS 'The last repetition was tried and not completed.';

-- What few logs hold: a row only for sets with any of it, since a column costs a long
-- log as much empty as full.
CREATE TABLE set_detail (
    set_key UHUGEINT NOT NULL,
    source_sheet TEXT,
    side TEXT,
    on_body BOOLEAN,
    load_counts TEXT,
    failed_at_deg DOUBLE,
    range_from_deg DOUBLE,
    range_to_deg DOUBLE,
    stance TEXT,
    rotation_deg DOUBLE,
    hold_s DOUBLE,
    angle_deg DOUBLE,
    tempo TEXT,
    pain DOUBLE,
    body_mass_kg DOUBLE,
    lean_deg DOUBLE,
    cheat BOOLEAN,
    note TEXT
);
COMMENT ON COLUMN set_detail.set_key IS 'The set.';
COMMENT ON COLUMN set_detail.source_sheet IS 'Sheet of a workbook of several.';
COMMENT ON COLUMN set_detail.side IS 'left, right or empty for both or unknown.';
COMMENT ON COLUMN set_detail.on_body IS 'The log gives the load as body mass plus or minus something.';
COMMENT ON COLUMN set_detail.load_counts IS 'How dumbbells were counted: per_hand, total, or empty for the catalogue''s convention.';
COMMENT ON COLUMN set_detail.failed_at_deg IS 'Elbow angle where it failed.';
COMMENT ON COLUMN set_detail.range_from_deg IS 'First elbow angle, if another than the variant''s.';
COMMENT ON COLUMN set_detail.range_to_deg IS 'Last elbow angle, if another than the variant''s.';
COMMENT ON COLUMN set_detail.stance IS 'Stance as logged, lower case.';
COMMENT ON COLUMN set_detail.rotation_deg IS 'Forearm: 90 supinated, 0 neutral, -90 pronated.';
COMMENT ON COLUMN set_detail.hold_s IS 'Duration of an isometric hold in seconds.';
COMMENT ON COLUMN set_detail.angle_deg IS 'Elbow angle of a hold.';
COMMENT ON COLUMN set_detail.tempo IS 'Tempo as logged.';
COMMENT ON COLUMN set_detail.pain IS 'Pain from 0 to 10; NULL if not logged.';
COMMENT ON COLUMN set_detail.body_mass_kg IS 'Body mass logged beside the set.';
COMMENT ON COLUMN set_detail.lean_deg IS 'Trunk lean seen in the set.';
COMMENT ON COLUMN set_detail.cheat IS 'The load was started with a swing of the body.';
COMMENT ON COLUMN set_detail.note IS 'Note as logged.';

CREATE TABLE deleted_set (
    set_key UHUGEINT NOT NULL,
    deleted_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN deleted_set.set_key IS 'A set deleted by hand; it stays in logged_set, so that its file cannot bring it back.';
COMMENT ON COLUMN deleted_set.deleted_at IS 'When, local time.';

CREATE TABLE rejected_row (
    intake_id INTEGER NOT NULL,
    source_sheet TEXT NOT NULL,
    source_row BIGINT NOT NULL,
    row_key UHUGEINT NOT NULL,
    column_name TEXT NOT NULL,
    value TEXT NOT NULL,
    problem TEXT NOT NULL,
    accepted TEXT NOT NULL,
    cells TEXT NOT NULL,
    fixed_by INTEGER
);
COMMENT ON COLUMN rejected_row.intake_id IS 'Intake that rejected the row.';
COMMENT ON COLUMN rejected_row.source_sheet IS 'Sheet of a workbook, empty for other files.';
COMMENT ON COLUMN rejected_row.source_row IS 'Line or row in the file, counted from 1, header included.';
COMMENT ON COLUMN rejected_row.row_key IS 'Digest of the cells and the occurrence number of equal rows in the file.';
COMMENT ON COLUMN rejected_row.column_name IS 'Header of the column that holds the problem.';
COMMENT ON COLUMN rejected_row.value IS 'The cell as found.';
COMMENT ON COLUMN rejected_row.problem IS 'What is wrong with it.';
COMMENT ON COLUMN rejected_row.accepted IS 'What would be accepted.';
COMMENT ON COLUMN rejected_row.cells IS 'Mapped cells of the row as a JSON list; intake.headers names them.';
COMMENT ON COLUMN rejected_row.fixed_by IS 'Intake of the fixed row that took its place; NULL while it waits.';

CREATE TABLE exercise_name (
    name_key TEXT PRIMARY KEY,
    text TEXT NOT NULL,
    variant TEXT,
    likeness DOUBLE NOT NULL,
    decided_by TEXT NOT NULL
        CHECK (decided_by IN ('nobody', 'catalogue', 'words', 'typo', 'person'))
);
COMMENT ON COLUMN exercise_name.name_key IS 'The name without case, accents and punctuation.';
COMMENT ON COLUMN exercise_name.text IS 'The name as first seen.';
COMMENT ON COLUMN exercise_name.variant IS 'What it means; NULL while nobody has said.';
COMMENT ON COLUMN exercise_name.likeness IS 'Confidence from 0 to 1 that it means the variant, or the nearest one.';
COMMENT ON COLUMN exercise_name.decided_by IS 'How it was decided; nobody means it waits and its sets do not count.';

CREATE TABLE own_variant (
    variant TEXT PRIMARY KEY,
    movement TEXT NOT NULL,
    title TEXT NOT NULL
);
COMMENT ON COLUMN own_variant.variant IS 'Identifier of a variant outside the catalogue.';
COMMENT ON COLUMN own_variant.movement IS 'Movement it belongs to.';
COMMENT ON COLUMN own_variant.title IS 'Name on screens.';

CREATE TABLE body (
    body_key UHUGEINT NOT NULL,
    intake_id INTEGER NOT NULL,
    source_sheet TEXT NOT NULL,
    source_row BIGINT NOT NULL,
    lifter TEXT NOT NULL,
    measured_on DATE NOT NULL,
    body_mass_kg DOUBLE,
    stature_m DOUBLE,
    forearm_length_m DOUBLE,
    arm_girth_m DOUBLE
);
COMMENT ON COLUMN body.body_key IS 'Identity: digest of what was measured.';
COMMENT ON COLUMN body.intake_id IS 'Intake that added the measurement.';
COMMENT ON COLUMN body.source_sheet IS 'Sheet of a workbook, empty for other files.';
COMMENT ON COLUMN body.source_row IS 'Line or row in the file, counted from 1, header included.';
COMMENT ON COLUMN body.lifter IS 'Code of the lifter.';
COMMENT ON COLUMN body.measured_on IS 'Local date of the measurement.';
COMMENT ON COLUMN body.body_mass_kg IS 'Body mass.';
COMMENT ON COLUMN body.stature_m IS 'Stature.';
COMMENT ON COLUMN body.forearm_length_m IS 'Elbow to wrist.';
COMMENT ON COLUMN body.arm_girth_m IS 'Upper arm girth.';
