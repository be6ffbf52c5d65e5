"""Security headers of every answer."""

from __future__ import annotations

from flask import Flask, Response, request

from quizsvc.web.current import house

RULES = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; "
    "img-src 'self'; connect-src 'self'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'; object-src 'none'",
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": over https the CSRF check compares the referring page with the host.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
# Shown in a page, and saved under a name of ours where somebody saves it.
ENDINGS = {
    "image/jpeg": "jpg",
    "image/png": "png",
    "image/svg+xml": "svg",
    "image/webp": "webp",
    "text/calendar": "ics",
}
A_YEAR = 365 * 24 * 3600
# Shown as they are. All else that is no page is at most a picture or a file: opened by itself, it
# runs nothing and belongs to no origin. (A sandbox would keep browsers from showing a PDF.)
PAGES = frozenset({"text/html", "application/pdf"})


def init_app(app: Flask) -> None:
    app.after_request(add_headers)


def add_headers(response: Response) -> Response:
    """Add the rules; keep everything but static files out of every cache."""
    response.headers.update(RULES)
    if house().settings.cookie_secure:
        response.headers["Strict-Transport-Security"] = f"max-age={A_YEAR}; includeSubDomains"
    if request.endpoint != "static":
        response.headers["Cache-Control"] = "no-store"
        if response.mimetype not in PAGES:
            response.headers["Content-Security-Policy"] += "; sandbox"
        if response.mimetype in ENDINGS:
            response.headers.setdefault(
                "Content-Disposition", f'inline; filename="{_file_name(response)}"'
            )
        for tell_tale in ("ETag", "Last-Modified"):
            response.headers.pop(tell_tale, None)
    return response


def _file_name(response: Response) -> str:
    """Return a name that says what kind of thing it is and nothing of what was asked for."""
    kind = (request.endpoint or "file").rpartition(".")[2].replace("_", "-")
    return f"{kind}.{ENDINGS[response.mimetype or '']}"
