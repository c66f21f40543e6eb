-- What a coach notes on a lifter, for pages and report.

CREATE TABLE coach_note (
    lifter TEXT PRIMARY KEY,
    note TEXT NOT NULL,
    said_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN coach_note.lifter IS 'Code of the lifter.';
COMMENT ON COLUMN coach_note.note IS 'What the coach wrote last.';
COMMENT ON COLUMN coach_note.said_at IS 'When, local time.';
