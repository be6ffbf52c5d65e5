"""The application factory: one Flask application around one opened house."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import urlsplit

from flask import Flask
from flask_wtf import CSRFProtect
from werkzeug.middleware.proxy_fix import ProxyFix

from quizsvc.config import Settings
from quizsvc.services.house import House
from quizsvc.web import (
    access,
    addresses,
    current,
    errors,
    headers,
    lanes,
    limits,
    pages,
    plain_text,
    signing,
    uploads,
)
from quizsvc.web.accounts import gate
from quizsvc.web.accounts.views import accounts
from quizsvc.web.admin.views import admin
from quizsvc.web.bank.views import bank
from quizsvc.web.bench.views import bench
from quizsvc.web.certificates.views import certificates, verifying
from quizsvc.web.classroom.views import classroom
from quizsvc.web.components.views import components
from quizsvc.web.families.views import families
from quizsvc.web.home import home
from quizsvc.web.operating import observing
from quizsvc.web.operating.views import operating
from quizsvc.web.practise.views import practise
from quizsvc.web.sheets.views import sheets
from quizsvc.web.shop.views import shop
from quizsvc.web.teaching.pages import teaching

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
LARGEST_REQUEST = 1_000_000  # bytes; an answer is a few hundred
LARGEST_FORM_PARTS = 200


def create_app(
    house: House,
    *,
    clock: current.Clock = current.utc_now,
    overrides: Mapping[str, object] | None = None,
) -> Flask:
    """Return the application; ``overrides`` are Flask settings that a test or trial needs."""
    app = Flask(__name__)
    app.config.from_mapping(flask_settings(house.settings))
    app.config.from_mapping(overrides or {})
    app.extensions["quizsvc"] = current.Surroundings(house, clock)
    _trust_proxies(app, house.settings.trusted_proxies)
    signing.init_app(app)
    CSRFProtect(app)
    for part in (
        observing,
        addresses,
        access,
        limits,
        headers,
        errors,
        pages,
        plain_text,
        gate,
        uploads,
    ):
        part.init_app(app)
    for blueprint in (
        *(home, operating, accounts, practise, bench, bank, classroom),
        *(families, sheets, admin, teaching, certificates, verifying, shop),
    ):
        app.register_blueprint(blueprint)
    if house.settings.page_of_components:
        app.register_blueprint(components)
    lanes.init_app(app, house)
    return app


def flask_settings(settings: Settings) -> dict[str, object]:
    secure = settings.cookie_secure
    return {
        "SECRET_KEY": settings.secret_key,
        # Addresses of static files change with the files (pages.asset).
        "SEND_FILE_MAX_AGE_DEFAULT": headers.A_YEAR,
        "TRUSTED_HOSTS": trusted_hosts(settings),
        "MAX_CONTENT_LENGTH": LARGEST_REQUEST,
        "MAX_FORM_MEMORY_SIZE": LARGEST_REQUEST,
        "MAX_FORM_PARTS": LARGEST_FORM_PARTS,
        "SESSION_COOKIE_NAME": "__Host-form" if secure else "form",
        "SESSION_COOKIE_SECURE": secure,
        "SESSION_COOKIE_HTTPONLY": True,
        "SESSION_COOKIE_SAMESITE": "Lax",
        # The token lives as long as the browser's session: whoever thinks about an item for an
        # hour must not lose the answer to it.
        "WTF_CSRF_TIME_LIMIT": None,
        "TEMPLATES_AUTO_RELOAD": settings.page_of_components,
    }


def trusted_hosts(settings: Settings) -> list[str]:
    """Return the host names answered to: the public one; all of this machine's own if local."""
    host = urlsplit(settings.public_url).hostname or ""
    host = f"[{host}]" if ":" in host else host
    return list(LOOPBACK) if host in LOOPBACK else [host]


def _trust_proxies(app: Flask, count: int) -> None:
    """Believe the last ``count`` proxies about address, scheme and host; none if 0."""
    if count:
        app.wsgi_app = ProxyFix(app.wsgi_app, x_for=count, x_proto=count, x_host=count)  # type: ignore[method-assign]
