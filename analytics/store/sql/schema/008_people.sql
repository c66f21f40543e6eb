-- Who may ask for what, who withholds a log from research, and who did what.

CREATE TABLE person (
    address TEXT PRIMARY KEY,
    role TEXT NOT NULL CHECK (role IN ('lifter', 'coach', 'researcher', 'owner')),
    added_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN person.address IS 'Electronic mail address the provider of sign-in knows, lower case.';
COMMENT ON COLUMN person.role IS 'What the person may ask for.';
COMMENT ON COLUMN person.added_at IS 'When, local time.';

CREATE TABLE person_lifter (
    address TEXT NOT NULL,
    lifter TEXT NOT NULL,
    PRIMARY KEY (address, lifter)
);
COMMENT ON COLUMN person_lifter.address IS 'A lifter, or a coach.';
COMMENT ON COLUMN person_lifter.lifter IS 'Code of the own log, or of a lifter assigned.';

CREATE TABLE withheld (
    lifter TEXT PRIMARY KEY,
    since TIMESTAMP NOT NULL
);
COMMENT ON COLUMN withheld.lifter IS 'Code of a lifter whose log no research table may use.';
COMMENT ON COLUMN withheld.since IS 'When that was said, local time.';

CREATE TABLE deed (
    done_at TIMESTAMP NOT NULL,
    address TEXT NOT NULL,
    deed TEXT NOT NULL,
    intake_id INTEGER,
    about TEXT NOT NULL
);
COMMENT ON COLUMN deed.done_at IS 'When, local time.';
COMMENT ON COLUMN deed.address IS 'Who did it; empty for whoever holds the file.';
COMMENT ON COLUMN deed.deed IS 'What was done, such as brought in, corrected, undid or released.';
COMMENT ON COLUMN deed.intake_id IS 'The import it was done to, if one.';
COMMENT ON COLUMN deed.about IS 'What else it was done to, without code, name or load of anybody.';
