"""The one way between a load as it is logged and the load per working arm."""

from __future__ import annotations

from typing import Any


def load_per_arm(load_kg: Any, arms_share: Any) -> Any:
    """Give the load per working arm of a logged load.

    Parameters
    ----------
    load_kg : float or array_like
        As logged. [kg]
    arms_share : float or array_like
        That of the log where it has one of its own, else of the variant. [1]

    Returns
    -------
    arm_kg : float or array_like
        [kg]
    """
    return load_kg / arms_share


def load_as_logged(arm_kg: Any, arms_share: Any) -> Any:
    """Give the logged load of a load per working arm.

    Parameters
    ----------
    arm_kg : float or array_like
        Per working arm. [kg]
    arms_share : float or array_like
        As for `load_per_arm`. [1]

    Returns
    -------
    load_kg : float or array_like
        [kg]
    """
    return arm_kg * arms_share
