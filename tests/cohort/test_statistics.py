"""The statistics of a cohort are one query, here and in a warehouse."""

import shutil

import pandas as pd
import pytest

from analytics.cohort import statistics_sql
from analytics.store.engine import in_memory


@pytest.fixture
def sets(done):
    files = sorted((done.out / "sets").iterdir())
    return pd.concat([pd.read_parquet(path) for path in files], ignore_index=True)


def by_duckdb(sets):
    with in_memory() as con:
        con.register("sets", sets)
        return con.sql(statistics_sql()).df()


@pytest.mark.long
@pytest.mark.external  # pandas
def test_statistics_are_sums_over_the_sets(sets):
    keys = ["movement", "lifter", "variant", "equipment"]
    told = by_duckdb(sets).groupby(keys)
    own = sets.groupby(keys)
    for ours, theirs in (
        (told["sets"].sum(), own.size()),
        (told["holds"].sum(), own["hold_s"].count()),
        (told["load_sum_kg"].sum(), own["load_kg"].sum()),
        (told["heaviest_kg"].max(), own["load_kg"].max()),
        (told["last_on"].max(), own["performed_on"].max()),
    ):
        pd.testing.assert_series_equal(
            ours, theirs, check_dtype=False, check_names=False
        )
    effort = sets["failed"] | sets["rir"].notna()
    assert told["with_effort"].sum().sum() == effort.sum()


@pytest.mark.slow
@pytest.mark.external  # Apache Spark
def test_spark_gives_the_same_statistics(sets, tmp_path):
    if shutil.which("java") is None:
        pytest.skip("no Java virtual machine: `java` is not in PATH")
    spark_sql = pytest.importorskip("pyspark.sql", reason="pyspark is not installed")
    path = tmp_path / "sets.parquet"
    sets.to_parquet(path, index=False, coerce_timestamps="us")
    spark = (
        spark_sql.SparkSession.builder.master("local[1]")
        .config("spark.sql.session.timeZone", "UTC")
        .config("spark.ui.enabled", "false")
        .getOrCreate()
    )
    try:
        spark.read.parquet(str(path)).createOrReplaceTempView("sets")
        rows = spark.sql(statistics_sql("spark")).collect()
    finally:
        spark.stop()
    told = pd.DataFrame([row.asDict() for row in rows])
    ours = by_duckdb(sets)
    assert list(told) == list(ours)
    for name in ours:
        one, other = (
            pd.to_datetime(t[name]).dt.date
            if name.endswith("_on")
            else t[name].astype(ours[name].dtype)
            for t in (told, ours)
        )
        pd.testing.assert_series_equal(one, other, check_dtype=False, rtol=1e-12)
