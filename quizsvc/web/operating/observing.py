"""One structured line a request, and counts for whoever watches the server.

Lines hold the request's id, the route's name, the status and the time taken: no address typed,
no query, no person. Times and counts go to Prometheus under the same names.
"""

from __future__ import annotations

import logging
import re
import secrets
import time

import structlog
from flask import Flask, Response, current_app, g, request
from prometheus_client import Counter, Histogram

from quizsvc.services import security_events

REQUEST_ID = re.compile(r"[A-Za-z0-9._-]{8,64}")
REQUESTS = Counter("quizsvc_requests_total", "Requests answered.", ["method", "route", "status"])
SECONDS = Histogram(
    "quizsvc_request_seconds",
    "Time from the request's arrival in the application to its answer.",
    ["route"],
    buckets=(0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 15),
)
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"})
_log = structlog.get_logger("quizsvc.requests")


def init_app(app: Flask) -> None:
    app.before_request(begin)
    app.after_request(end)


def write_lines_as_json() -> None:
    """Send every log line to standard error as one JSON object."""
    shared: list[structlog.typing.Processor] = [
        structlog.contextvars.merge_contextvars,
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
    ]
    structlog.configure(
        processors=[*shared, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
    handler = logging.StreamHandler()
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[
                structlog.stdlib.ProcessorFormatter.remove_processors_meta,
                structlog.processors.JSONRenderer(),
            ],
        )
    )
    logging.getLogger().handlers[:] = [handler]
    logging.getLogger().setLevel(logging.INFO)
    logging.getLogger("alembic").setLevel(logging.WARNING)  # it tells its name at every look


def note_address() -> None:
    """Let what is told of security hold a stand-in for the address asked from."""
    secret = current_app.config["SECRET_KEY"]
    security_events.asked_from(request.remote_addr or "", secret)


def begin() -> None:
    """Give the request an id; one given by a proxy in front is kept where it is well formed."""
    given = request.headers.get("X-Request-Id", "")
    g.request_id = given if REQUEST_ID.fullmatch(given) else secrets.token_hex(8)
    g.request_began = time.perf_counter()
    structlog.contextvars.clear_contextvars()
    structlog.contextvars.bind_contextvars(request_id=g.request_id)
    note_address()


def end(response: Response) -> Response:
    began = g.get("request_began")
    if began is None:  # refused before `begin`, for example for its host
        return response
    response.headers["X-Request-Id"] = g.request_id
    route = request.endpoint or "none"
    seconds = time.perf_counter() - began
    method = request.method if request.method in _METHODS else "other"
    REQUESTS.labels(method, route, response.status_code).inc()
    SECONDS.labels(route).observe(seconds)
    if route != "static":
        _log.info(
            "request",
            method=method,
            route=route,
            status=response.status_code,
            ms=round(seconds * 1000, 1),
        )
    return response
