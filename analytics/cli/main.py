"""Where the command line starts: all commands in one group."""

import os

import click

from analytics.cli import (
    coaching,
    cohort,
    findings,
    logs,
    mechanics,
    outputs,
    own_sets,
    people,
)
from analytics.cli.options import OneLineErrors


@click.group(cls=OneLineErrors, context_settings={"max_content_width": 100})
@click.version_option(package_name="lacertus")
def main() -> None:
    """Strength from ordinary training logs, set against a mechanical model."""
    os.umask(0o077)  # what commands write is about people: for its owner alone


for topic in (logs, own_sets, findings, coaching, mechanics, outputs, people, cohort):
    for command in topic.COMMANDS:
        main.add_command(command)
