"""What simulations with a known truth found, and the sources of all numbers."""

from functools import partial

import streamlit as st

from analytics.charts import evidence
from analytics.evidence import information_table, pipeline_table
from app import figure, state
from app.views.method_and_cautions import needs


def strengths() -> None:
    """Draw how many intervals of strength hold the truth."""
    rows, finding = needs.battery()
    figure.show(partial(evidence.battery, rows, finding=finding), rows, name="battery")
    note = (
        "Simulated: share of intervals that hold the truth, median bias, size of the "
        "error and that of the usual rule, in logarithms (0.03 is 3 %); next loads in "
        "repetitions."
    )
    plans = rows["plan"].str.replace("_", " ")
    shown = rows.assign(plan=plans).rename(
        columns={"covered": "covered_frac", "n": "judged"}
    )
    figure.table(shown, name="battery_table", note=note)


def verdicts() -> None:
    """Draw how often the curve test is right as logs grow."""
    for design in needs.DESIGNS:
        rows, finding = needs.power(design)
        figure.show(
            partial(evidence.power, rows, finding=finding), rows, name=f"power_{design}"
        )
    st.caption(
        "Ratios alone, of twelve invented lifters. *Variants*: dynamic sets, as most "
        "logs are. *With holds*: also later range starts and isometric holds at known "
        "angles. *Leverage*: muscle force the same at every length, whose moment arms "
        "alone make joint strength peak in the middle. In ordinary variants such logs "
        "often agree with the published curve too, and the reasons then say that "
        "length cannot be told from leverage; holds and later starts part the two."
    )
    st.markdown("The same of joints whose strength was measured by angle:")
    rows, words = needs.family_power()
    figure.bullets(words)
    note = (
        "Share of simulated logs with each verdict and cause. Truths: closed forms "
        "between published curves of other people, invented postures."
    )
    figure.table(rows, name="family_power", note=note)
    st.markdown(
        "The same question put to whole logs, through intake, strength fit and "
        "verdict: 8 to 14 invented lifters over 12 to 24 weeks, half of the sets with "
        "an effort mark."
    )
    note = (
        "Number of simulated logs with each verdict. *One peaked curve*: a single "
        "muscle set and curve, another one for every log."
    )
    figure.table(pipeline_table(), name="whole_line", note=note)
    st.markdown(
        "Which variants, range starts and holds say anything about the curve, and "
        "about muscle length apart from leverage:"
    )
    note = (
        "Modelled: how many spreads the peaked prediction lies from flat and inverted "
        "joint strength and from leverage alone, if a log had no noise. Below 0.5 it "
        "says next to nothing; a range of one angle is a hold."
    )
    named = state.named(information_table())
    figure.table(named, name="length_information", note=note)


def checked() -> None:
    """List what was checked, and what came out."""
    note = (
        "Pages in Chromium on two cores without other work: 14 lifters, then 500,000 "
        "sets."
    )
    figure.table(needs.shipped("validation"), name="validation", note=note)
    note = "On a server for several people, in which signing in is on."
    figure.table(needs.shipped("roles"), name="roles", note=note)
    st.subheader("What the model gives, and what is published")
    st.markdown(figure.words("model"))
    notes = {
        "model_peaks": "Shoulder at 0°, supinated, by muscle set and active curve.",
        "model_published": "Modelled numbers beside published ones.",
        "model_shoulder": "Medians with 90 % intervals.",
    }
    for name, note in notes.items():
        figure.table(needs.shipped(name), name=name, note=note)


def sources() -> None:
    """List the sources."""
    st.markdown(
        "Published parameters live in data files, each table with its source. *Read* "
        "says how much of a source could be read."
    )
    figure.table(state.sources(), name="sources", note="Citations as entered.")
