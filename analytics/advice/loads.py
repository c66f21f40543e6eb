"""Load for the next sets, also in a variant the lifter has never done."""

from datetime import date

import numpy as np
import pandas as pd

from analytics import strength
from analytics.advice.capacity import Capacity, capacity
from analytics.advice.doubts import ASSUMED, PRIOR_ONLY
from analytics.advice.rules import cautions, implement_steps, rule
from analytics.catalogue import Variant, load_catalogue
from analytics.errors import InputError
from analytics.intervals import Z90
from analytics.store import pain_site
from analytics.strength import LARGEST_REPS, StrengthFit

LARGEST_RESERVE = 10  # the end of the scale on which reserve is told
COLUMNS = [
    *("variant", "reps", "rir", "load_kg", "low_kg", "high_kg"),
    *("basis", "caution"),
]
_SHOWN = ["set_id", "performed_on", "load_kg", "reps", "body_share", "body_mass_kg"]


def next_load(
    fit: StrengthFit,
    lifter: str,
    variant: str,
    *,
    sets: pd.DataFrame,
    reps: int,
    rir: float = 2,
    step_kg: float | None = None,
    on_date: date | None = None,
) -> pd.DataFrame:
    r"""Load for a number of reps that leaves some in reserve.

    Parameters
    ----------
    fit : StrengthFit
        Of the movement the variant belongs to.
    lifter : str
        Code.
    variant : str
        Variant id or setup label.
    sets : DataFrame
        Stored sets; those of other movements are searched for pain only.
    reps : int
        Reps to do. [1]
    rir : float
        Reps to leave in reserve. [1]
    step_kg : float, optional
        Smallest change of load the equipment allows; that of the implement if not
        given. [kg]
    on_date : date, optional
        Day of the sets; the lifter's last logged day if not given.

    Returns
    -------
    advice : DataFrame
        One row: ``variant, reps, rir, load_kg, low_kg, high_kg, basis, caution``.
        ``load_kg`` is the step nearest to the middle of the interval, or to its low
        end for what the lifter never did; held to the stated rise over what was shown,
        and always inside the interval. NaN where pain forbids a load or no step lies
        inside, and ``caution`` says so.

    Raises
    ------
    InputError
        If reps, reserve or step make no sense, or nothing is known.

    Notes
    -----
    .. math:: \log w = s(t) - g(R), \qquad R = reps + RIR

    with the lifter's own relation, that of the estimate. The interval holds the
    uncertainty of the strength and one day's form. Where the body moves too, w is the
    whole and the body's share is taken off.
    """
    _check(reps, rir, step_kg)
    own = sets[sets["lifter"] == lifter]
    if own.empty:
        raise InputError(f"no sets of lifter '{lifter}'; import a log first")
    day = pd.Timestamp(on_date) if on_date else own["performed_on"].max()
    row = {"variant": variant, "reps": reps, "rir": rir}
    pain = _recent_pain(own, day)
    if pain:
        nothing = {"load_kg": np.nan, "low_kg": np.nan, "high_kg": np.nan}
        return pd.DataFrame([row | nothing | {"basis": "", "caution": pain}])[COLUMNS]
    possible = reps + rir
    found = capacity(fit, lifter, variant, on_date=day, reps=possible)
    entry = _entry(fit, found.setup)
    step_kg = step_kg or usual_step_kg(fit, found.setup)
    body_kg, weighed = _body_kg(own, entry, day)
    reach = Z90 * np.hypot(found.sd_log, fit.hyper["day_sd"])
    low_kg, middle_kg, high_kg = (
        float(np.exp(found.mean_log + k * reach)) - body_kg for k in (-1, 0, 1)
    )
    ceiling_kg, shown = _ceiling(fit, own, found, reps, day)
    ceiling_kg -= body_kg
    wanted_kg = middle_kg if found.own else low_kg
    load_kg = _step_inside(min(wanted_kg, ceiling_kg), low_kg, high_kg, step_kg)
    said = [shown] if wanted_kg > ceiling_kg else []
    if load_kg > ceiling_kg + step_kg / 2:  # never outside the interval, so said
        said = [f"more than {shown.removeprefix('held to ')}: go up over sessions"]
    if np.isnan(load_kg):
        said.append(
            f"the body alone is more than that: take {-middle_kg:.1f} kg of help"
            if middle_kg < 0
            else f"no step of {step_kg:g} kg lies between {low_kg:.1f} and "
            f"{high_kg:.1f} kg; use lighter or finer equipment, or other repetitions"
        )
    said += _remarks(fit, found, lifter, middle_kg) + weighed
    said += cautions(entry)
    kg = {"load_kg": load_kg, "low_kg": low_kg, "high_kg": high_kg}
    basis = {"basis": f"{found.basis}; as of {day:%Y-%m-%d}"}
    return pd.DataFrame([row | kg | basis | {"caution": ". ".join(said)}])[COLUMNS]


def usual_step_kg(fit: StrengthFit, setup: str) -> float:
    """Smallest change of load of a setup's implement, common practice.

    Parameters
    ----------
    fit : StrengthFit
        Of the movement.
    setup : str
        Setup or variant; the step of a bar where the catalogue does not know it.

    Returns
    -------
    step_kg : float
        Of the load as logged. [kg]
    """
    entry = _entry(fit, setup)
    implement = "" if entry is None else entry.implement
    return implement_steps().get(implement, rule("step_kg"))


def _step_inside(
    wanted_kg: float, low_kg: float, high_kg: float, step_kg: float
) -> float:
    """Multiple of the step nearest to a load and inside the interval, or NaN."""
    first = max(np.ceil(low_kg / step_kg - 1e-9), 0.0)
    last = np.floor(high_kg / step_kg + 1e-9)
    if first > last or (last == 0 and low_kg > 0):
        return np.nan
    steps = np.clip(np.round(wanted_kg / step_kg), first, last)
    return float(steps * step_kg) + 0.0  # no minus before a zero


def _remarks(
    fit: StrengthFit, found: Capacity, lifter: str, middle_kg: float
) -> list[str]:
    """Say what makes a suggestion less sure than its interval."""
    said = []
    mine = fit.trend[fit.trend["lifter"] == lifter]
    same = mine[mine["setup"] == found.setup]
    if ((same if found.own else mine)["basis"] == ASSUMED).all():
        said.append(PRIOR_ONLY)
    if not found.own:
        said.append(
            f"never done by {lifter} in this log: the load is the low end of the "
            f"interval, not its middle of {middle_kg:.1f} kg; let the reps decide"
        )
    return said


def _check(reps: int, rir: float, step_kg: float | None) -> None:
    if not 1 <= reps <= LARGEST_REPS:
        raise InputError(f"reps must be 1 to {LARGEST_REPS}, got {reps:g}")
    if not 0 <= rir <= LARGEST_RESERVE:
        raise InputError(f"reps in reserve must be 0 to {LARGEST_RESERVE}, got {rir:g}")
    if reps + rir > LARGEST_REPS:
        raise InputError(
            f"reps and reserve together must be {LARGEST_REPS} or less, got "
            f"{reps + rir:g}: beyond that no published relation is close enough"
        )
    if step_kg is not None and not 0 < step_kg < np.inf:
        raise InputError(f"the step must be more than 0 kg, got {step_kg:g}")


def _entry(fit: StrengthFit, setup: str) -> Variant | None:
    """Catalogue entry of a setup, or none for a variant of one's own."""
    variant = dict(zip(fit.setups["setup"], fit.setups["variant"], strict=True))
    return load_catalogue().variants.get(variant.get(setup, setup))


def _body_kg(
    own: pd.DataFrame, entry: Variant | None, day: pd.Timestamp
) -> tuple[float, list[str]]:
    """Mass of the body that moves with the load, and what to say of an old weighing."""
    if entry is None or not entry.body_share:
        return 0.0, []
    weighed = own["body_mass_kg"].dropna()
    if weighed.empty:
        raise InputError(
            f"{entry.variant} moves the body too, and no body mass of "
            f"'{own['lifter'].iloc[0]}' is known; bring in a weighing first"
        )
    mass_kg, on = float(weighed.iloc[-1]), own.loc[weighed.index[-1], "body_mass_on"]
    weeks = abs(day - on).days / 7
    said = (
        f"the body mass of {mass_kg:g} kg is {weeks:.0f} weeks old "
        f"({on:%Y-%m-%d}); weigh again, the load is off by {entry.body_share:.0%} of "
        "any change"
    )
    old = weeks > rule("weighing_within_weeks")
    return entry.body_share * mass_kg, [said] * old


def _recent_pain(own: pd.DataFrame, day: pd.Timestamp) -> str:
    """Say which logged pain forbids a load, or nothing."""
    since = min(day, own["performed_on"].max()) - pd.Timedelta(
        days=rule("pain_within_days")
    )
    sore = own[(own["pain"] > 0) & (own["performed_on"] >= since)]
    if sore.empty:
        return ""
    last = sore.iloc[-1]
    site = pain_site(last["note"])
    where = f" ({site})" if site else ""
    return (
        f"no load suggested: pain {last['pain']:g}{where} was logged on "
        f"{last['performed_on']:%Y-%m-%d} with {last['variant']}. Do not train through "
        "it; ask a physician or physiotherapist first"
    )


def _ceiling(
    fit: StrengthFit, own: pd.DataFrame, found: Capacity, reps: int, day: pd.Timestamp
) -> tuple[float, str]:
    """Largest whole load allowed by what was shown lately for this many reps.

    Reps done count, reps left do not. Sets of other setups count through the
    lifter's strength in both.
    """
    done = own.loc[(own["flag"] == "") & (own["reps"] >= 1), _SHOWN]
    done = done.merge(fit.set_points[["set_id", "setup"]], on="set_id")
    if done.empty:
        return np.inf, ""
    since = day - pd.Timedelta(days=rule("shown_within_days"))
    recent = done[done["performed_on"] >= since]
    recent = recent if len(recent) else done
    same = recent[recent["setup"] == found.setup]
    counted = same if len(same) else recent
    moved_kg = counted["body_share"] * counted["body_mass_kg"].fillna(0)
    most = counted["reps"].clip(upper=LARGEST_REPS)
    lifter = str(own["lifter"].iloc[0])
    known = fit.relation[fit.relation["lifter"] == lifter].set_index("setup")
    ln_k, shape = (counted["setup"].map(known[k]) for k in ("ln_k", "shape"))
    log_here = np.log(counted["load_kg"] + moved_kg)
    log_here += strength.log_gain(most, ln_k, shape)
    log_here -= strength.log_gain(float(reps), ln_k, shape)
    if not len(same):
        single = capacity(fit, lifter, found.setup, on_date=day).mean_log
        log_here += single - counted["setup"].map(
            {
                setup: strength.predict(fit, lifter, setup, day)[0]
                for setup in counted["setup"].unique()
            }
        )
    shown_kg = float(np.exp(log_here.max()))
    rise = rule("weekly_rise_frac")
    return shown_kg * (1 + rise), (
        f"held to {rise:.0%} above the {shown_kg:.1f} kg shown for {reps} reps"
        + ("" if len(same) else ", carried over from other variants")
    )
