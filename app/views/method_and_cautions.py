"""Method and cautions: where every number comes from, and what to beware of."""

import streamlit as st

from app import figure, results, state
from app.charts import evidence

st.title("Method and cautions")
st.header("What is measured, estimated and modelled")
st.markdown(figure.words("sources_of_numbers"))

st.header("Cautions")
st.markdown(figure.words("cautions"))

st.header("The equations")
st.markdown(figure.words("equations"))

st.header("Three rival shapes")
st.markdown(figure.words("shapes"))

st.header("How much a log can tell")
for design in results.DESIGNS:
    rows, finding = results.power(design)
    figure.show(evidence.power(rows, finding=finding), rows, name=f"power_{design}")
st.caption(
    "Twelve invented lifters. *Variants*: dynamic sets alone, as most logs are. *With "
    "holds*: also later range starts and isometric holds at known angles. The widest "
    "published curve is nearly flat in its ratios and is found at most this often: "
    f"{results.widest_curve_found()}. The strength fit itself is not simulated here."
)

st.header("Sources")
st.markdown(
    "Published parameters live in data files, each table with its source. "
    "`read` says how much of a source could be read."
)
figure.table(state.sources(), name="sources", note="Citations as entered.")
