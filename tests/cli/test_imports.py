"""Short commands do not load what they do not use; importing changes nothing."""

import subprocess
import sys

import pytest

HEAVY = {"altair", "jinja2", "openpyxl", "pandas", "pyarrow", "scipy", "streamlit"}


def loaded(code):
    """Packages that a fresh process has loaded after running code."""
    told = subprocess.run(
        [sys.executable, "-c", f"{code}\nimport sys; print('\\n', *sys.modules)"],
        capture_output=True, text=True, check=True,
    ).stdout.splitlines()[-1]  # fmt: skip
    return {name.split(".")[0] for name in told.split()}


@pytest.mark.parametrize(
    ("arguments", "more"),
    [(["--help"], {"duckdb", "numpy"}), (["variants"], set())],
    ids=["help", "variants"],
)
def test_help_and_variants_do_not_wait_for_heavy_libraries(arguments, more, tmp_path):
    if arguments != ["--help"]:
        arguments = [*arguments, "--store", str(tmp_path / "none.duckdb")]
    command = f"main({arguments}, standalone_mode=False)"
    packages = loaded(f"from analytics.cli.main import main; {command}")
    assert "click" in packages
    assert not packages & (HEAVY | more)


def test_importing_the_library_loads_and_changes_nothing():
    assert not loaded("import analytics") & (HEAVY | {"click", "duckdb", "numpy"})
    subprocess.run(
        [
            sys.executable,
            "-c",
            "import os; before = dict(os.environ); import analytics.strength, "
            "analytics.evidence; assert dict(os.environ) == before",
        ],
        check=True,
    )


def test_every_module_imports_where_unix_modules_are_missing():
    # As on Windows: neither `resource` nor `fcntl`. Dask chooses by system for itself.
    code = (
        "import sys, pkgutil, importlib, distributed\n"
        "sys.modules['resource'] = sys.modules['fcntl'] = None\n"
        "import analytics\n"
        "for module in pkgutil.walk_packages(analytics.__path__, 'analytics.'):\n"
        "    importlib.import_module(module.name)\n"
    )
    assert "analytics" in loaded(code)
