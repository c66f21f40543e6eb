-- Reserve that was called as an interval.

ALTER TABLE set_detail ADD COLUMN rir_half DOUBLE;
COMMENT ON COLUMN set_detail.rir_half IS 'Half the width of the interval around rir that was logged, such as 0.5 of 1-2; NULL for one number.';
