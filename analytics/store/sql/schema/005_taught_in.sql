-- Which names a file's column map taught, so that they go when the file is undone.

ALTER TABLE exercise_name ADD COLUMN taught_in INTEGER;
COMMENT ON COLUMN exercise_name.taught_in IS 'Intake whose column map said what it means; NULL if a person said it apart from files, or nobody did.';
