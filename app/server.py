"""Starts the server of the dashboard so that it asks nobody for its own address.

Streamlit would ask a web service, to print the address and to compare a visitor's
origin with it; neither is needed where the address to listen at is given.
"""

import sys
from importlib import import_module

from streamlit import config, net_util
from streamlit.web import cli

from app import sign_in, worker

WILDCARDS = ("0.0.0.0", "::")


def run() -> None:
    """Run Streamlit with the arguments of `streamlit run`."""
    own_address = net_util.get_internal_ip  # a UDP socket is connected, nothing sent

    def listened_at() -> str | None:
        address = config.get_option("server.address")
        return own_address() if address in WILDCARDS else address

    net_util.get_internal_ip = listened_at
    net_util.get_external_ip = lambda: None
    sys.argv = ["streamlit", "run", *sys.argv[1:]]
    import_module("app.main")  # so that the first visitor need not wait for libraries
    if sign_in.shared():
        import_module("app.ahead").begin()
    try:
        cli.main()
    finally:
        worker.stop()


if __name__ == "__main__":
    run()
