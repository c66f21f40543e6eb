"""Two releases differ by nothing that gives a person, and a release is whole."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from research_club import PAD, STANDING, build, cohort, fitted, legs, random_club

from analytics import reports
from analytics import store as stored
from analytics.cli.main import main
from analytics.errors import InputError, NotWrittenError, ReleaseRefusedError
from analytics.intake import take_in
from analytics.reports import package
from analytics.reports.held import held_sets
from analytics.reports.register import check_release, holdings, recorded
from analytics.store import Store


def release(folder: Path, sets: pd.DataFrame, *, k: int = 10, again=False) -> None:
    fits = fitted(sets)
    enough = {name: fit for name, fit in fits.items() if fit.n_lifters >= k}
    movements = sets.groupby("movement")
    now = holdings({name: held_sets(enough.get(name), of) for name, of in movements})
    check_release(folder, now, smallest_cell=k, again=again)
    with recorded(folder, now, smallest_cell=k):
        pass


@pytest.fixture
def register(tmp_path) -> Path:
    return tmp_path / "store.duckdb.releases"


CLUB = cohort(pad=24, dumbbell=0, lifters=30)


def joined(number: int) -> pd.DataFrame:
    """The club and so many lifters more."""
    return cohort(pad=24, dumbbell=0, lifters=30 + number)


def test_the_attack_by_differencing_works_without_a_register():
    counts = []
    for sets in (CLUB, joined(5)):  # five, since a count stands for five
        quality = build(sets)[0]["data_quality"].query("kind == 'any'")
        counts.append(quality.set_index("setup").loc[STANDING, "sets"])
    assert counts[1] - counts[0] == 5 * 6  # six sets each, exactly


@pytest.mark.parametrize("number", [1, 2, 9])
def test_a_second_release_with_few_more_lifters_is_refused(register, number):
    release(register, CLUB)
    with pytest.raises(
        ReleaseRefusedError, match=rf"sets of {number} lifters .*--again"
    ):
        release(register, joined(number))
    with pytest.raises(ReleaseRefusedError):
        release(register, CLUB[CLUB["lifter"] >= f"Z{number:02d}"])


def test_a_second_release_after_ten_more_lifters_is_made(register):
    release(register, CLUB)
    release(register, joined(10))


def test_one_set_or_one_load_of_one_lifter_more_is_refused(register):
    release(register, CLUB)
    heavier = CLUB.copy()
    heavier.loc[0, "load_kg"] += 1
    for sets in (CLUB.drop(index=0), heavier):
        with pytest.raises(ReleaseRefusedError, match="nearly the same cohort"):
            release(register, sets)


def test_the_old_weeks_of_one_who_joins_when_all_trained_on_are_refused(register):
    # Everybody's totals change, but the old weeks only by the one who came.
    last = CLUB["performed_on"].max()
    release(register, CLUB[CLUB["performed_on"] < last])
    release(register, CLUB)
    with pytest.raises(ReleaseRefusedError):
        release(register, joined(1))


def test_the_same_release_is_made_as_often_as_wanted(register):
    for _ in range(2):
        release(register, CLUB)
        release(register, CLUB.sample(frac=1, random_state=1, ignore_index=True))


def test_another_cell_size_of_the_same_sets_adds_nothing_where_one_holds_the_other(
    register,
):
    few = legs(cohort(pad=6, dumbbell=0, lifters=7))  # no setups with cells of ten
    sets = pd.concat([CLUB, few], ignore_index=True)
    release(register, sets, k=5)
    release(register, sets, k=10)


def test_the_fifth_lifter_of_a_movement_is_not_hidden_by_its_first_fit(register):
    for few in (4, 5):
        sets = pd.concat([CLUB, legs(cohort(pad=0, dumbbell=0, lifters=few))])
        sets = sets.reset_index(drop=True)
        if few == 4:
            release(register, sets, k=5)
    with pytest.raises(ReleaseRefusedError, match="1 lifters or fewer"):
        release(register, sets, k=5)


def test_with_again_it_is_made_and_said(register, caplog):
    release(register, CLUB)
    release(register, joined(1), again=True)
    assert "written again" in caplog.text
    assert "nearly the same cohort" in caplog.text


def test_every_former_release_counts_and_not_the_last_alone(register):
    release(register, CLUB)
    release(register, joined(12))
    with pytest.raises(ReleaseRefusedError):
        release(register, joined(1))


# Whatever two clubs the register lets pass: no two published counts of one cell differ
# by what fewer lifters than the cell did.
@pytest.mark.parametrize("seed", range(6))
def test_what_is_let_pass_differs_by_no_few_lifters(register, seed):
    rng = np.random.default_rng(seed)
    before = random_club(seed)
    gone = rng.choice(before["lifter"].unique(), rng.integers(1, 12), replace=False)
    after = before[~before["lifter"].isin(gone)]
    release(register, before, k=5)
    try:
        release(register, after, k=5)
    except ReleaseRefusedError:
        return
    for movement, rows in before.groupby("movement"):
        for _, of_it in [("", rows), *rows.groupby("variant")]:
            few = of_it.loc[of_it["lifter"].isin(gone), "lifter"].nunique()
            assert few == 0 or few >= 5 or of_it["lifter"].nunique() < 5, movement


def test_cells_shown_by_one_release_and_hidden_by_the_other_are_refused(register):
    # With cells of 5 the pad hides the dumbbells of 4; once ten others came to those,
    # the same pad would be published, and the total of before less it gives the 4.
    small = cohort(pad=12, dumbbell=4, lifters=30)
    more = cohort(pad=12, dumbbell=14, lifters=30)
    assert build(small, 5)[0]["ratios"].set_index("setup").loc[PAD, "status"] == (
        "suppressed"
    )
    release(register, small, k=5)
    with pytest.raises(ReleaseRefusedError, match="other cells of the same sets"):
        release(register, more, k=5)


def test_the_register_holds_no_code_and_no_name(register):
    release(register, CLUB)
    (path,) = register.iterdir()
    assert path.stat().st_mode & 0o077 == 0
    assert register.stat().st_mode & 0o077 == 0
    told = pd.read_parquet(path).to_csv()
    assert not any(text in told for text in ("Z01", STANDING, "elbow_flexion"))


def test_a_damaged_register_refuses_and_says_so(register):
    release(register, CLUB)
    next(register.iterdir()).write_bytes(b"no table")
    with pytest.raises(ReleaseRefusedError, match="cannot be read"):
        release(register, CLUB)


def log(path: Path, lifters: int) -> Path:
    rows = [
        f"L{n:02d},2026-01-{day:02d},{name},{load + n},8,2"
        for n in range(lifters)
        for day in (5, 12, 19)
        for name, load in (("barbell curl", 30), ("hammer curl", 14))
    ]
    path.write_text("lifter,date,exercise,load_kg,reps,rir\n" + "\n".join(rows) + "\n")
    return path


@pytest.fixture
def club(tmp_path) -> Store:
    store = Store(tmp_path / "club.duckdb")
    take_in(store, log(tmp_path / "log.csv", 12), dates="iso")
    return store


def run(store: Store, *arguments: str):
    return CliRunner().invoke(main, [*arguments, "--store", str(store.path)])


def test_the_command_refuses_a_second_release_without_again(club, tmp_path):
    out = [str(tmp_path / name) for name in ("one", "two")]
    assert run(club, "tables", out[0]).exit_code == 0
    take_in(club, log(tmp_path / "more.csv", 13), dates="iso")
    done = run(club, "tables", out[1])
    assert done.exit_code == 3
    assert "--again" in done.stderr
    assert not Path(out[1]).exists()
    assert run(club, "tables", out[1], "--again").exit_code == 0
    assert Path(out[1], "datapackage.json").is_file()


def test_without_a_place_for_the_register_tables_are_still_written(
    club, tmp_path, monkeypatch, caplog
):
    reports.write_tables(club, tmp_path / "first")
    (register,) = tmp_path.glob("*.releases")
    for path in register.iterdir():
        path.unlink()
    register.rmdir()
    register.write_text("in the way")
    reports.write_tables(club, tmp_path / "out")
    assert "is not in the register" in caplog.text
    assert (tmp_path / "out" / "datapackage.json").is_file()


def test_a_release_that_failed_is_not_said_to_be_missing_in_the_register(
    club, tmp_path, monkeypatch, caplog
):
    (tmp_path / f"{club.path.name}.releases").write_text("in the way")
    failing(monkeypatch, 1)
    with pytest.raises(NotWrittenError, match="No space left") as failed:
        reports.write_tables(club, tmp_path / "out")
    assert failed.value.exit_code == 4
    assert "register" not in caplog.text


def failing(monkeypatch, at: int) -> None:
    """Let the disk be full at one of the files."""
    written, resource = [], package._resource

    def full(path, *rest):
        written.append(path)
        if len(written) == at:
            raise OSError(28, "No space left on device")
        return resource(path, *rest)

    monkeypatch.setattr(package, "_resource", full)


@pytest.mark.parametrize("at", [1, 4])
def test_a_full_disk_leaves_no_half_export_and_no_record(
    club, tmp_path, monkeypatch, at
):
    failing(monkeypatch, at)
    with pytest.raises(NotWrittenError, match="No space left"):
        reports.write_tables(club, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".out")]
    (register,) = tmp_path.glob("*.releases")
    assert not list(register.iterdir())


def test_an_earlier_package_stays_whole_when_the_next_fails(
    club, tmp_path, monkeypatch
):
    out = tmp_path / "out"
    reports.write_tables(club, out)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    failing(monkeypatch, 3)
    with pytest.raises(NotWrittenError):
        reports.write_tables(club, out)
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_a_folder_with_other_files_is_refused_and_keeps_them(club, tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match=r"'mine.txt'.*new or empty folder"):
        reports.write_tables(club, out)
    assert [path.name for path in out.iterdir()] == ["mine.txt"]


def test_a_killed_export_is_there_whole_or_not_at_all(club, tmp_path):
    stored.movements(club)
    reports.write_tables(club, tmp_path / "warm")
    whole = {path.name for path in (tmp_path / "warm").iterdir()}
    code = (
        "import sys; from pathlib import Path; from analytics import reports; "
        "from analytics.store import Store\n"
        "print('ready', flush=True)\n"
        "reports.write_tables(Store(Path(sys.argv[1])), Path(sys.argv[2]))\n"
    )
    for n, wait_s in enumerate((0.0, 0.5, 1.2)):
        out = tmp_path / f"out{n}"
        command = [sys.executable, "-c", code, str(club.path), str(out)]
        with subprocess.Popen(command, stdout=subprocess.PIPE) as process:
            process.stdout.readline()
            time.sleep(wait_s)
            os.kill(process.pid, signal.SIGKILL)
        assert not out.exists() or {p.name for p in out.iterdir()} == whole
