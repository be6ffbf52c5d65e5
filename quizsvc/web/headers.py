"""Security headers of every answer."""

from __future__ import annotations

from flask import Flask, Response, request

from quizsvc.web.current import house

RULES = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; "
    "img-src 'self'; connect-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": over https the CSRF check compares the referring page with the host.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
A_YEAR = 365 * 24 * 3600


def init_app(app: Flask) -> None:
    app.after_request(add_headers)


def add_headers(response: Response) -> Response:
    """Add the rules; keep everything but static files out of every cache."""
    response.headers.update(RULES)
    if house().settings.cookie_secure:
        response.headers["Strict-Transport-Security"] = f"max-age={A_YEAR}"
    if request.endpoint != "static":
        response.headers["Cache-Control"] = "no-store"
        for tell_tale in ("ETag", "Last-Modified"):
            response.headers.pop(tell_tale, None)
    return response
