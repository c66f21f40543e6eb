"""Training logs to strength, mechanics and a verdict, in a notebook.

``import analytics as la``, then ``la.Store``, ``la.fit``, ``la.curve_test`` and
``la.columns()``. Nothing is loaded before it is asked for.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analytics.notebook import Store, columns, curve_test, fit

__all__ = ["Store", "columns", "curve_test", "fit"]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module 'analytics' has no attribute {name!r}")
    return getattr(import_module("analytics.notebook"), name)


def __dir__() -> list[str]:
    return __all__
