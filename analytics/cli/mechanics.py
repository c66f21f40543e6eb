"""Commands about the lift itself: through the range, sticking, balance, traces."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from analytics.cli.asked import code_of, variant_of
from analytics.cli.options import lifter_option, range_option, sex_option, with_store
from analytics.cli.printing import print_table, remark, say

if TYPE_CHECKING:
    from analytics.store import Store


def _ask_start(
    variants: Iterable[str], range_deg: tuple[float, float] | None, form: str
) -> None:
    """Say on which pads the range was left to us: its start decides the result."""
    from analytics.catalogue import load_catalogue

    known = load_catalogue().variants
    models = {v: known[v].mechanics for v in variants if v in known}
    pads = {v: one for v, one in models.items() if one and one.support == "pad"}
    if range_deg is None and pads:
        ranges = ", ".join(
            f"{name} {pad.range_from_deg:g}:{pad.range_to_deg:g}"
            for name, pad in pads.items()
        )
        remark(
            "on a pad the start of the range decides nearly everything, and it is "
            f"assumed here: {ranges}; give the lifter's own with --range A:B",
            form,
        )


@click.command()
@click.argument("variant")
@click.option(
    "--load", "load_kg", type=float, help="Load as logged; limit load without."
)
@range_option
@click.option("--mass", "body_mass_kg", type=float, default=75.0, show_default=True)
@click.option("--stature", "stature_m", type=float, default=1.75, show_default=True)
@click.option("--forearm", "forearm_m", type=float, help="Elbow to wrist, m.")
@sex_option
@with_store
def curve(
    variant: str,
    load_kg: float | None,
    range_deg: tuple[float, float] | None,
    body_mass_kg: float,
    stature_m: float,
    forearm_m: float | None,
    sex: str | None,
    store: Store,
    form: str,
) -> None:
    """Model demand and capability through the range of VARIANT."""
    from analytics import mechanics
    from analytics.catalogue import load_catalogue, load_per_arm

    variant = variant_of(store, variant)
    known = load_catalogue().variants.get(variant)
    share = known.arms_share if known else 1.0
    size: dict[str, Any] = {
        "body_mass_kg": body_mass_kg,
        "stature_m": stature_m,
        "sex": sex,
        "forearm_m": forearm_m,
    }
    table = mechanics.through_range(
        variant,
        load_kg=None if load_kg is None else load_per_arm(load_kg, share),
        range_deg=range_deg,
        **size,
    )
    print_table(table.loc[:, :"utilisation"], form)
    if load_kg is None:
        body = mechanics.make_body(**size)
        row = mechanics.hardest([variant], range_deg=range_deg, body=body).iloc[0]
        remark(mechanics.limit_sentences(row, share)[0], form)
    _ask_start([variant], range_deg, form)


@click.command()
@click.argument("variants", nargs=-1, metavar="[VARIANT]...")
@range_option
@lifter_option
@with_store
def sticking(
    variants: tuple[str, ...],
    range_deg: tuple[float, float] | None,
    lifter: str | None,
    store: Store,
    form: str,
) -> None:
    """Find where each variant is hardest: modelled, logged and traced."""
    from analytics import evidence
    from analytics import store as storage
    from analytics.catalogue import load_catalogue, main_movement

    lifter = code_of(store, lifter)
    variants = tuple(variant_of(store, text) for text in variants)
    if not variants:
        counts = storage.movements(store).set_index("movement")["sets"]
        variants = load_catalogue().modelled_in(main_movement(counts.to_dict()))
    print_table(
        evidence.sticking(
            variants,
            range_deg=range_deg,
            sets=storage.sets(store, lifter=lifter),
            reps=storage.reps(store, lifter=lifter),
        ),
        form,
    )
    _ask_start(variants, range_deg, form)


@click.command()
@click.option("--load", "load_kg", type=float, required=True, help="Load in the hands.")
@click.option(
    "--mass", "body_mass_kg", type=float, required=True, help="Body mass, kg."
)
@click.option("--stature", "stature_m", type=float, required=True, help="Stature, m.")
@click.option("--reach", "reach_m", type=float, help="Load ahead of the ankle, m.")
@sex_option
@with_store
def balance(
    load_kg: float,
    body_mass_kg: float,
    stature_m: float,
    reach_m: float | None,
    sex: str | None,
    store: Store,
    form: str,
) -> None:
    """Set stance against lean under a load held in front."""
    from analytics import mechanics

    print_table(
        mechanics.balance(
            load_kg,
            body_mass_kg=body_mass_kg,
            stature_m=stature_m,
            reach_m=reach_m,
            sex=sex,
        ),
        form,
    )
    remark(f"{mechanics.LEAN_IS_BALANCE}\n{mechanics.SUPPORT_HOLDS}", form)


@click.command()
@click.argument("variant")
@range_option
@with_store
def setups(
    variant: str, range_deg: tuple[float, float] | None, store: Store, form: str
) -> None:
    """Search a cable, pad or bench for the most even match."""
    from analytics import mechanics

    variant = variant_of(store, variant)
    print_table(mechanics.search_setups(variant, range_deg=range_deg), form)


@click.command()
@click.argument(
    "paths", nargs=-1, required=True, type=click.Path(path_type=Path), metavar="FILE..."
)
@click.option("--lifter", help="Code of the lifter, for files without one.")
@click.option("--variant", help="What was lifted, for files without an exercise.")
@with_store
def trace(
    paths: tuple[Path, ...],
    lifter: str | None,
    variant: str | None,
    store: Store,
    form: str,
) -> None:
    """Find repetitions and sticking regions in traces, and store them."""
    import pandas as pd

    from analytics import traces
    from analytics.cli import rep_log

    found = []
    for path in paths:
        kept, number = rep_log.store_trace(store, path, lifter=lifter, variant=variant)
        say(f"{path.name}: stored as intake {number}", err=True)
        found.append(kept)
    print_table(pd.concat(found)[traces.COLUMNS], form)


COMMANDS = (curve, sticking, balance, setups, trace)
