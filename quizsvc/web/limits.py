"""How often one address or one person may ask for changes.

Counts live in each process: with several processes the limit is that many times higher. The
brake on guessing passwords does not rest on this; it stands in the database (accounts service).
"""

from __future__ import annotations

from hashlib import sha256

from flask import Flask, request
from flask_limiter import Limiter
from flask_limiter.util import get_remote_address

from quizsvc.web import access

# A class of 200 behind one address signs in at once; a guessing machine does far more.
SIGN_IN = "600 per minute"
# Nobody answers four items a second for a minute.
CHANGES = "240 per minute"


def who() -> str:
    """Return what is counted: the signed-in session if there is one, else the address."""
    token = access.token()
    return sha256(token.encode()).hexdigest() if token else get_remote_address()


limiter = Limiter(
    who,
    default_limits=[CHANGES],
    default_limits_exempt_when=lambda: request.method in {"GET", "HEAD", "OPTIONS"},
    storage_uri="memory://",
)


def init_app(app: Flask) -> None:
    # Said for each application: the limiter keeps what the last one said, and a trial that
    # switches it off would else leave it off for all after it in this process.
    app.config.setdefault("RATELIMIT_ENABLED", True)
    limiter.init_app(app)
