"""Addresses for whatever keeps the server running: is it alive, is it ready, how is it doing."""

from __future__ import annotations

import hmac
import os

from flask import Blueprint, Response, request
from prometheus_client import CONTENT_TYPE_LATEST, REGISTRY, CollectorRegistry, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector

from quizsvc.errors import NotFoundError
from quizsvc.services import readiness_of_server
from quizsvc.web.current import house

operating = Blueprint("operating", __name__)


@operating.get("/health")
def health() -> Response:
    """Say that the process answers; nothing else is looked at."""
    return Response("alive\n", mimetype="text/plain")


@operating.get("/ready")
def ready() -> Response:
    """Say whether the database can be read and is up to date; 503 otherwise."""
    readiness_of_server.require_ready(house())
    return Response("ready\n", mimetype="text/plain")


@operating.get("/metrics")
def metrics() -> Response:
    """Give Prometheus its numbers, to whoever holds the token; without a token there is no page."""
    token = house().settings.metrics_token
    given = request.headers.get("Authorization", "").removeprefix("Bearer ")
    if not token or not hmac.compare_digest(token.encode(), given.encode()):
        raise NotFoundError("There is no page at this address.")
    return Response(generate_latest(_registry()), content_type=CONTENT_TYPE_LATEST)


def _registry() -> CollectorRegistry:
    """Return the numbers of all worker processes where they share a folder for them."""
    if not os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        return REGISTRY
    registry = CollectorRegistry()
    MultiProcessCollector(registry)  # type: ignore[no-untyped-call] # carries no types
    return registry
