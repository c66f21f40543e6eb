"""Section of the method page: what measured people say of the model."""

from functools import partial

import streamlit as st

from analytics.catalogue import load_catalogue
from analytics.charts import weighed
from app import figure, state
from app.views.method_and_cautions import needs


def draw() -> None:
    """Draw bands, targets, weights, slopes and changed predictions of each joint."""
    for name, joint in load_catalogue().joints.items():
        if f"targets_{name}" not in load_catalogue().tables:
            continue
        bands, points, targets, numbers, slopes, changed = needs.weighed(name)
        chart = partial(weighed.torque_angle, bands, points, joint=joint)
        figure.show(chart, bands, name=f"weighed_{name}")
        note = (
            "Before and after weighing: medians with 90 % intervals. Misfit: measured "
            "less predicted over the root of both variances. Rows *compared* weigh "
            "nothing. Women are few, and grip was measured on men alone."
        )
        figure.table(targets, name=f"targets_{name}", note=note)
        note = (
            "Modelled: how likely measured people make each muscle set and curve, and "
            "how many draws of equal weight the weighed ones are worth."
        )
        figure.table(numbers, name=f"weights_{name}", note=note)
        note = (
            "Loss of strength per 10°, as published: steepest anywhere, and mean "
            "between the two angles measured on people. Beyond 110° curves fall off "
            "like a cliff, where no study has been."
        )
        figure.table(slopes, name=f"slopes_{name}", note=note)
    st.markdown("How predictions changed when measured people weighed them:")
    note = (
        "Modelled limit load per working arm over that of the reference: before, with "
        "another second muscle set, and now. Measured: two studies of supported lifts."
    )
    figure.table(state.named(changed), name="changed", note=note)
