"""Logs and results in an object store, by addresses."""

from pathlib import Path

import fsspec
import pytest

from analytics.cohort import open_cohort, run_cohort
from analytics.cohort.place import Place
from analytics.errors import FileRefusedError, InputError

pytestmark = pytest.mark.long


def test_logs_and_results_in_an_object_store_are_those_on_disk(
    done, logs, bucket, scheduler
):
    for path in logs:
        fsspec.filesystem("s3").pipe_file(
            f"federation/logs/{Path(path).name}", Path(path).read_bytes()
        )
    out = f"{bucket}/out"
    told = run_cohort([f"{bucket}/logs"], out, scheduler=scheduler, parts=3)
    files = ["log_000.csv", "log_001.csv", "log_extra.csv", "log_twice.csv"]
    assert [Path(p).name for p in told["file"]] == files
    assert told["taken"].tolist() == done.accounts["taken"].tolist()
    place, here = Place(out), Place(str(done.out))
    for name in here.names():
        if name.startswith(("tables/", "fits/", "sets/", "ratios", "verdict")):
            assert place.read(name) == here.read(name), name
    assert not [name for name in place.names() if name.startswith(("work/", "_run"))]
    assert open_cohort(out).fits.keys() == open_cohort(str(done.out)).fits.keys()


def test_two_runs_into_one_bucket_are_refused(bucket, scheduler, logs):
    out = f"{bucket}/held"
    with Place(out).held(), pytest.raises(FileRefusedError, match="another run"):
        run_cohort(logs, out, scheduler=scheduler)
    assert Place(out).names() == []


def test_an_address_nothing_opens_is_named():
    with pytest.raises(InputError, match="cannot open gopher://x"):
        Place("gopher://x")
