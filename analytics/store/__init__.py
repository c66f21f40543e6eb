"""The DuckDB file: schema, migrations and the few queries others use."""
