-- Until when a lifter's pain is over, so that advice no longer stops on it.

CREATE TABLE pain_over (
    lifter TEXT PRIMARY KEY,
    until DATE NOT NULL,
    said_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN pain_over.lifter IS 'Code of the lifter.';
COMMENT ON COLUMN pain_over.until IS 'Last day whose pain a person said is over.';
COMMENT ON COLUMN pain_over.said_at IS 'When, local time.';
