"""How often one address or one person may ask for changes.

Counts live in each process: with several processes the limit is that many times higher. The
brake on guessing passwords does not rest on this; it stands in the database (accounts service).
"""

from __future__ import annotations

from hashlib import sha256

from flask import Flask, current_app, request
from flask_limiter import Limiter
from flask_limiter.util import get_remote_address

from quizsvc.web import access

# A class of 200 behind one address signs in at once; a guessing machine does far more.
SIGN_IN = "600 per minute"
# Nobody answers four items a second for a minute.
CHANGES = "240 per minute"
# Pages that are made anew from very much, or that carry very much away.
COSTLY = "30 per minute"
COSTLY_PAGES = frozenset(
    {
        *("admin.export", "bank.as_package", "bank.as_table", "bank.take_away", "admin.log"),
        *("certificates.certificate_pdf", "certificates.rebuilt", "classroom.feed"),
        *("shop.matrix_csv", "shop.matrix_xlsx", "shop.export", "teaching.document"),
        *("teaching.lesson_pdf", "verifying.check"),
    }
)


def who() -> str:
    """Return what is counted: the signed-in session if there is one, else the address."""
    token = access.token()
    return sha256(token.encode()).hexdigest() if token else get_remote_address()


def allowed() -> str:
    return COSTLY if request.endpoint in COSTLY_PAGES else CHANGES


def unlimited() -> bool:
    """Return whether this is a page to look at that costs little."""
    return request.method in {"GET", "HEAD", "OPTIONS"} and request.endpoint not in COSTLY_PAGES


limiter = Limiter(
    who,
    default_limits=[allowed],
    default_limits_exempt_when=unlimited,
    storage_uri="memory://",
)


def init_app(app: Flask) -> None:
    """Brake this application, unless a trial has switched its brakes off.

    The limiter itself keeps what the last application said for all of them; hence each is asked.
    """
    wanted = app.config.setdefault("RATELIMIT_ENABLED", True)
    app.config["RATELIMIT_ENABLED"] = True
    limiter.init_app(app)
    app.config["RATELIMIT_ENABLED"] = wanted


@limiter.request_filter
def switched_off() -> bool:
    return not current_app.config["RATELIMIT_ENABLED"]
