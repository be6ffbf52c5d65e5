"""A server on loopback for browser tests, and the sizes in which pages are looked at."""

from __future__ import annotations

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from werkzeug.serving import make_server

from quizsvc.services.house import House
from quizsvc.web.app import create_app

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1280, "height": 800}


@contextmanager
def serving(house: House) -> Iterator[str]:
    """Serve a house from a thread; give its address."""
    logging.getLogger("werkzeug").setLevel(logging.ERROR)
    app = create_app(house, overrides={"RATELIMIT_ENABLED": False})
    server = make_server("localhost", 0, app, threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield f"http://localhost:{server.server_port}"
    server.shutdown()
    thread.join()
    server.server_close()
    house.close()
