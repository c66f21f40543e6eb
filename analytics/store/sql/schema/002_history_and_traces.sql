-- What people changed, layouts they confirmed, traced repetitions, saved fits.

CREATE TABLE set_history (
    set_key UHUGEINT NOT NULL,
    changed_at TIMESTAMP NOT NULL,
    action TEXT NOT NULL CHECK (action IN ('edited', 'deleted')),
    column_name TEXT NOT NULL,
    before TEXT,
    after TEXT
);
COMMENT ON COLUMN set_history.set_key IS 'The set that was changed.';
COMMENT ON COLUMN set_history.changed_at IS 'When, local time.';
COMMENT ON COLUMN set_history.action IS 'edited or deleted.';
COMMENT ON COLUMN set_history.column_name IS 'Column of logged_set that changed.';
COMMENT ON COLUMN set_history.before IS 'Value before, as text.';
COMMENT ON COLUMN set_history.after IS 'Value after, as text.';

CREATE TABLE layout (
    signature TEXT PRIMARY KEY,
    column_map TEXT NOT NULL,
    confirmed_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN layout.signature IS 'SHA-256 of the header cells in order.';
COMMENT ON COLUMN layout.column_map IS 'The column map confirmed for it, as TOML.';
COMMENT ON COLUMN layout.confirmed_at IS 'When a file was last stored with it, local time.';

CREATE TABLE saved_fit (
    key TEXT PRIMARY KEY,
    content_hash TEXT NOT NULL,
    blob BLOB NOT NULL,
    saved_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN saved_fit.key IS 'What was fitted.';
COMMENT ON COLUMN saved_fit.content_hash IS 'Fingerprint of the sets the fit saw.';
COMMENT ON COLUMN saved_fit.blob IS 'The fit, as its owner wrote it.';
COMMENT ON COLUMN saved_fit.saved_at IS 'When, local time.';

CREATE TABLE traced_rep (
    file_hash TEXT NOT NULL,
    lifter TEXT NOT NULL,
    performed_on DATE,
    exercise TEXT NOT NULL,
    name_key TEXT NOT NULL,
    set_label TEXT NOT NULL,
    rep INTEGER NOT NULL,
    start_s DOUBLE,
    end_s DOUBLE,
    peak1_s DOUBLE,
    low_s DOUBLE,
    peak2_s DOUBLE,
    sticking_deg DOUBLE,
    sticking_from_deg DOUBLE,
    sticking_to_deg DOUBLE
);
COMMENT ON COLUMN traced_rep.file_hash IS 'SHA-256 of the trace file; saving it again replaces its repetitions.';
COMMENT ON COLUMN traced_rep.lifter IS 'Code of the lifter.';
COMMENT ON COLUMN traced_rep.performed_on IS 'Local date, NULL if the trace gives none.';
COMMENT ON COLUMN traced_rep.exercise IS 'Exercise name as written.';
COMMENT ON COLUMN traced_rep.name_key IS 'Normalised exercise name; see exercise_name.';
COMMENT ON COLUMN traced_rep.set_label IS 'Set of the trace, as written.';
COMMENT ON COLUMN traced_rep.rep IS 'Repetition in the set, from 1.';
COMMENT ON COLUMN traced_rep.start_s IS 'Start of the concentric phase.';
COMMENT ON COLUMN traced_rep.end_s IS 'End of the concentric phase.';
COMMENT ON COLUMN traced_rep.peak1_s IS 'First velocity peak.';
COMMENT ON COLUMN traced_rep.low_s IS 'Velocity minimum after it; NULL without a sticking region.';
COMMENT ON COLUMN traced_rep.peak2_s IS 'Second velocity peak.';
COMMENT ON COLUMN traced_rep.sticking_deg IS 'Elbow angle at the velocity minimum.';
COMMENT ON COLUMN traced_rep.sticking_from_deg IS 'Elbow angle at the first peak.';
COMMENT ON COLUMN traced_rep.sticking_to_deg IS 'Elbow angle at the minimum, where the region ends.';
