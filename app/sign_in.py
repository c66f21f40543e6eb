"""Who has signed in; what they may then ask for is decided in the store alone.

Signing in is on where several people share a server, see `lacertus serve --shared`.
"""

import os
import time

import streamlit as st

HOURS = "LACERTUS_SHARED_HOURS"  # set by `lacertus serve --shared`


def shared() -> bool:
    """Tell whether people sign in here."""
    return HOURS in os.environ


def address() -> str | None:
    """Return the address of who asks, empty before sign-in, None without sign-in.

    Without, an address in the environment stands for whoever sits at the machine.
    """
    if not shared():
        return os.environ.get("LACERTUS_PERSON")
    return "" if refusal() else str(st.user["email"])


def refusal() -> str:
    """Return why what the provider said is no sign-in (any more), or nothing."""
    if not st.user.is_logged_in:
        return "Please sign in."
    if not st.user.get("email") or st.user.get("email_verified") is False:
        return "The provider gives no address that it has verified."
    age_s = time.time() - float(st.user.get("iat") or 0)
    if age_s > 3600 * float(os.environ[HOURS]):
        return "You signed in too long ago. Please sign in again."
    return ""
