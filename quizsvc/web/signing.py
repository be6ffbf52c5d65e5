"""What cookies and form tokens are signed with: HMAC with SHA-256 instead of the usual SHA-1."""

from __future__ import annotations

from hashlib import sha256

from flask import Flask
from flask.sessions import SecureCookieSessionInterface
from itsdangerous import Signer


class Sha256Sessions(SecureCookieSessionInterface):
    digest_method = staticmethod(sha256)


def init_app(app: Flask) -> None:
    app.session_interface = Sha256Sessions()
    # Form tokens are signed by a library that states no digest and takes this one.
    Signer.default_digest_method = staticmethod(sha256)
