"""Work that everybody's first pages share, done beside them from the server's start.

Of people it holds nothing but the fit that the store keeps anyway. One piece is handed
over at a time, so that whoever opens a page meanwhile comes next.
"""

from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from functools import partial
from threading import Thread

import pandas as pd

from analytics import advice, evidence
from analytics import store as stored
from analytics.errors import AnalyticsError
from analytics.store import Store
from analytics.strength import fitted
from app import state, worker
from app.views.next_session import needs


def begin() -> None:
    """Begin, and leave it at that where it fails: pages then say why."""
    Thread(target=work, daemon=True).start()


def work() -> None:
    """Fit every movement with sets, then draw what curve tests and advice ask."""
    with suppress(AnalyticsError, BrokenProcessPool):
        store = Store(state.store_path())
        rows = stored.movements(store)
        names = rows.loc[rows["sets"] > 0, "movement"]
        for movement in filter(None, names):
            fit = worker.submit(partial(fitted, store, movement)).result()
            for piece in evidence.draw_ahead(fit):
                worker.submit(piece).result()
            usual, _ = advice.measured_body(pd.DataFrame())
            key, make = needs.facts_of(fit, usual)
            state.make_ahead("variant_facts", key, make)
