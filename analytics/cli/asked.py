"""Whom and what a command is asked about, by any name the store or catalogue knows."""

from __future__ import annotations

from typing import TYPE_CHECKING, overload

from analytics.cli.printing import say

if TYPE_CHECKING:
    from analytics.store import Store


@overload
def code_of(store: Store, lifter: str) -> str: ...
@overload
def code_of(store: Store, lifter: None) -> None: ...
@overload
def code_of(store: Store, lifter: str | None) -> str | None: ...
def code_of(store: Store, lifter: str | None) -> str | None:
    """Return a lifter's code as logged, typed in any case; None for nobody."""
    from analytics import store as storage

    return None if lifter is None else storage.find_lifter(store, lifter)


@overload
def variant_of(store: Store, text: str) -> str: ...
@overload
def variant_of(store: Store, text: None) -> None: ...
@overload
def variant_of(store: Store, text: str | None) -> str | None: ...
def variant_of(store: Store, text: str | None) -> str | None:
    """Return the variant that is meant, saying so where it is called otherwise."""
    from analytics import store as storage

    if text is None:
        return None
    variant = storage.find_variant(store, text)
    if variant != text:
        say(f"'{text}' is {variant}", err=True)
    return variant
