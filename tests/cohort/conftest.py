"""One cluster of two workers and one invented federation for all tests of a cohort."""

import os
from types import SimpleNamespace
from unittest import mock

import fsspec
import pytest
from cluster import started
from moto.server import ThreadedMotoServer

from analytics.cli.bench.cohort import write_logs
from analytics.cohort import run_cohort

# Of two exercises, with holds, failure angles, a body mass and a name that waits.
EXTRA = """lifter,date,lift,load_kg,reps,rir,hold_s,angle,failed_at_deg,body_mass_kg
L000001,2024-01-04,standing barbell curl,20,,0,5,60,,80
L000001,2024-01-04,standing barbell curl,22,,0,5,90,,80
L000002,2024-01-04,preacher curl 45,18,6,0,,,40,
L000002,2024-01-08,preacher curl 45,18,6,0,,,44,
L000003,2024-01-04,chin-up,0,8,1,,,,75
L000003,2024-01-08,chin-up,5,7,1,,,,
L000003,2024-01-12,chin-up,5,8,1,,,,77
L000004,2024-01-04,some new thing,50,8,1,,,,
L000004,2024-01-05,standing barbell curl,heavy,8,1,,,,
"""


@pytest.fixture(scope="session")
def bucket():
    """A bucket of an object store on this machine, as the environment says it."""
    server = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    server.start()
    host, port = server.get_host_and_port()
    told = {
        "AWS_ACCESS_KEY_ID": "invented",
        "AWS_SECRET_ACCESS_KEY": "invented",
        "AWS_DEFAULT_REGION": "us-east-1",
        "AWS_ENDPOINT_URL": f"http://{host}:{port}",
    }
    with mock.patch.dict(os.environ, told):
        fsspec.filesystem("s3").mkdir("federation")
        yield "s3://federation"
    server.stop()


@pytest.fixture(scope="session")
def scheduler(bucket):
    with started(2) as address:
        yield address


@pytest.fixture(scope="session")
def logs(tmp_path_factory):
    folder = tmp_path_factory.mktemp("federation")
    paths = write_logs(folder, 30, files=2, sets_each=48)
    extra = folder / "log_extra.csv"
    extra.write_text(EXTRA, encoding="utf-8")
    again = folder / "log_twice.csv"  # some sets of the first file once more
    lines = paths[0].read_text("utf-8").splitlines()
    again.write_text("\n".join(lines[:40]) + "\n", encoding="utf-8")
    return [str(p) for p in (*paths, extra, again)]


@pytest.fixture(scope="session")
def done(logs, scheduler, tmp_path_factory):
    out = tmp_path_factory.mktemp("cohort") / "out"
    accounts = run_cohort(logs, str(out), scheduler=scheduler, parts=3)
    return SimpleNamespace(out=out, accounts=accounts)
