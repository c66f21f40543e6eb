"""One recorded set: height or angle, speed, and the events found in each rep."""

import altair as alt
import pandas as pd

from analytics.catalogue import Joint
from analytics.charts import theme

_EVENT = {"peak1": "first peak", "low": "slowest", "peak2": "second peak"}


def panels(joint: Joint) -> dict[str, str]:
    """Return the columns that can be drawn, with the titles of their axes."""
    return {
        joint.column: f"{joint.title} angle [°]",
        f"{joint.column}_per_s": f"{joint.title} speed [°/s]",
    }


def explorer(
    samples: pd.DataFrame, *, joint: Joint, panel: str, finding: str
) -> alt.LayerChart:
    """Draw a trace with the first peak, the slowest point and the second peak.

    Parameters
    ----------
    samples : DataFrame
        One set: `time_s`, the joint's angle and speed, `rep, event`; `event` is empty
        or one of start, peak1, low, peak2, end.
    joint : Joint
        Whose angle.
    panel : str
        Which of `panels` is drawn.
    finding : str
        The sentence above.
    """
    names = list(_EVENT.values())
    events = samples[samples["event"].isin(list(_EVENT))]
    events = events.assign(event=events["event"].map(_EVENT))
    hue = alt.Scale(domain=names, range=[theme.THIRD, theme.MODELLED, theme.FOURTH])
    form = alt.Scale(domain=names, range=["triangle-up", "diamond", "square"])
    time = alt.X("time_s:Q", title="Time [s]")
    line = (
        alt.Chart(samples)
        .mark_line(color=theme.MEASURED, strokeWidth=1.5)
        .encode(x=time, y=alt.Y(f"{panel}:Q", title=panels(joint)[panel]))
    )
    marks = (
        alt.Chart(events)
        .mark_point(size=90, opacity=1)
        .encode(
            x=time,
            y=alt.Y(f"{panel}:Q"),
            color=alt.Color("event:N", title=None, scale=hue),
            shape=alt.Shape("event:N", title=None, scale=form),
            tooltip=[
                alt.Tooltip("rep:Q", title="Rep"),
                alt.Tooltip("event:N", title="Event"),
                alt.Tooltip("time_s:Q", title="Time [s]", format=".2f"),
                theme.angle(joint),
            ],
        )
    )
    return theme.titled(
        alt.layer(line, marks).properties(height=280),
        finding,
        f"Measured trace, low-pass filtered; 0° is {joint.zero}. Sticking "
        "region: from the first peak of speed to the slowest point after it.",
        description=finding,
    )
