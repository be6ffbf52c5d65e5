"""What cookies and form tokens are signed with: HMAC with SHA-256 instead of the usual SHA-1."""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from flask import Flask
from flask.sessions import SecureCookieSessionInterface
from itsdangerous import Signer, URLSafeTimedSerializer


class Ageless(URLSafeTimedSerializer):
    """Reads a cookie whatever its age: it goes with the browser's session, not by our clock.

    Were the machine's clock set back, every cookie would come from the future, and whoever sat a
    test at that moment could not send an answer any more.
    """

    def loads(self, s: str | bytes, *_args: Any, **_kwargs: Any) -> Any:
        return super().loads(s, max_age=None)


class Sha256Sessions(SecureCookieSessionInterface):
    digest_method = staticmethod(sha256)

    def get_signing_serializer(self, app: Flask) -> URLSafeTimedSerializer | None:
        how = {"key_derivation": self.key_derivation, "digest_method": self.digest_method}
        return Ageless(
            app.config["SECRET_KEY"],
            salt=self.salt,
            serializer=self.serializer,
            signer_kwargs=how,
        )


def init_app(app: Flask) -> None:
    app.session_interface = Sha256Sessions()
    # Form tokens are signed by a library that states no digest and takes this one.
    Signer.default_digest_method = staticmethod(sha256)
