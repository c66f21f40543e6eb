"""The house rules that a machine can hold us to."""

import importlib
import inspect
import pkgutil
import re
import subprocess
from pathlib import Path

import pytest
from numpydoc.docscrape import FunctionDoc

import analytics
from analytics.units import SUFFIX_UNIT

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "pyproject.toml",
    "requirements.lock",
    "app",
    "analytics",
    "tests",
    "sample_logs",
}


def public_functions():
    """Functions that a stage exports by name in its package."""
    for module in pkgutil.iter_modules(analytics.__path__, "analytics."):
        if not module.ispkg:
            continue
        package = importlib.import_module(module.name)
        for name in getattr(package, "__all__", []):
            function = getattr(package, name)
            if inspect.isfunction(function):
                yield pytest.param(function, id=f"{module.name}.{name}")


@pytest.mark.parametrize("function", list(public_functions()))
def test_arguments_and_units_are_documented(function):
    documented = [
        (name.strip(), " ".join(parameter.desc))
        for parameter in FunctionDoc(inspect.unwrap(function))["Parameters"]
        for name in parameter.name.split(",")
    ]
    signature = inspect.signature(inspect.unwrap(function))
    assert [name for name, _ in documented] == list(signature.parameters)
    for name, description in documented:
        suffix = next((s for s in SUFFIX_UNIT if name.endswith(s)), None)
        if suffix:
            assert f"[{SUFFIX_UNIT[suffix]}]" in description, name


def test_top_level_holds_exactly_what_the_plan_says():
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    top = {name.split("/")[0] for name in tracked}
    assert {name for name in top if not name.startswith(".")} == TOP_LEVEL


# What may know the elbow: its own rooms and data. A trace's angle is the elbow's until
# a trace can be read through another joint, and so are the truths that the power of the
# verdict is simulated with; the others hold one word or example each.
OF_THE_ELBOW = (
    "analytics/mechanics/elbow/",
    "analytics/mechanics/lifts/",  # of many joints, each by its name
    "analytics/mechanics/pulls/",
    "analytics/mechanics/lifts/demand.py",
    "analytics/catalogue/pulls.py",
    "analytics/advice/direct/",
    "analytics/charts/pulls.py",
    "app/views/are_curls_needed/",
    "analytics/traces/",
    "analytics/cli/bench/other_elbow",
)
ONE_WORD = {
    "app/main.py": 2,
    "analytics/cli/bench/power.py": 6,
    "analytics/cli/mechanics.py": 1,
    "analytics/cli/options.py": 2,
    "analytics/store/names.py": 2,
    "analytics/strength/model/cache.py": 1,
}
ELBOW_WORDS = re.compile(r"elbow|curl|biceps|brachi|flexor", re.IGNORECASE)


def test_only_the_rooms_of_the_elbow_know_it():
    found = {}
    for path in [*ROOT.glob("analytics/**/*.py"), *ROOT.glob("app/**/*.py")]:
        name = path.relative_to(ROOT).as_posix()
        words = ELBOW_WORDS.findall(path.read_text(encoding="utf-8"))
        if words and not name.startswith(OF_THE_ELBOW):
            found[name] = len(words)
    assert found == ONE_WORD
