-- Where copies of the store were put, so that erasing can name those that still hold
-- what was erased.

CREATE TABLE copy_made (
    path TEXT PRIMARY KEY,
    made_at TIMESTAMP NOT NULL
);
COMMENT ON COLUMN copy_made.path IS 'A backup of this store, or one it was restored from.';
COMMENT ON COLUMN copy_made.made_at IS 'When it was made, local time.';
