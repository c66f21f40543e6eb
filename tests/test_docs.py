"""The README's promises, held to the program."""

import re
import tomllib
from pathlib import Path

import pytest
from click.testing import CliRunner

from analytics.cli.main import main
from app.views.method_and_cautions import needs

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("command", sorted(main.commands))
def test_every_command_stands_in_the_readme_and_has_help(command):
    assert f"`lacertus {command}`" in README
    shown = CliRunner().invoke(main, [command, "--help"])
    assert shown.exit_code == 0
    assert "--store" in shown.output
    assert "--as" in shown.output


def test_pictures_of_the_tour_are_there():
    for line in README.splitlines():
        if line.startswith("!["):
            assert (ROOT / line.split("(")[1].rstrip(")")).is_file(), line


def test_every_check_of_the_method_page_names_what_checks_it():
    table = needs.shipped("validation")
    assert table.ne("").all(axis=None)
    for place in table["checked by"]:
        assert not place.startswith("tests/") or (ROOT / place).exists(), place


def test_glossary_and_changelog_close_the_guide():
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    titles = [line for line in guide.splitlines() if line.startswith("## ")]
    assert titles[-2:] == ["## Glossary", "## Changelog of changed numbers"]
    for place in re.findall(r"`((?:tests|analytics|app)/[\w/.-]+\.\w+)`", guide):
        assert (ROOT / place).exists(), place


def test_column_map_of_the_readme_is_one_the_intake_takes(tmp_path):
    text = README.split("```toml\n")[1].split("```")[0]
    assert tomllib.loads(text)["columns"]["load"] == "Gewicht"
    log = tmp_path / "log.csv"
    log.write_text(
        "Athlete;Datum;Uebung;Gewicht;Wdh;Reserve\n"
        "A;03.02.2025;LH-Curl stehend;40,5;8;2\n",
        encoding="utf-8",
    )
    (tmp_path / "map.toml").write_text(text, encoding="utf-8")
    options = ["--store", str(tmp_path / "s.duckdb"), "--as", "csv"]
    columns = ["--columns", str(tmp_path / "map.toml")]
    done = CliRunner().invoke(main, ["intake", str(log), *columns, *options])
    assert done.exit_code == 0, done.output
    assert "log.csv,1,1,1,0,0" in done.output
