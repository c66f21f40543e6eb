"""Plans with known strength, to judge an estimator that never saw them made."""
