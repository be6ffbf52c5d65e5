"""Numbers in addresses: only those that a database can hold as a key."""

from __future__ import annotations

from typing import Any

from flask import Flask
from werkzeug.routing import IntegerConverter, Map

LARGEST = 2**31 - 1  # PostgreSQL's integer; a larger number stands for nothing that is stored


class Number(IntegerConverter):
    """A whole number from 0; larger ones are no address at all, rather than a failed query."""

    def __init__(self, url_map: Map, **stated: Any) -> None:
        super().__init__(url_map, **({"max": LARGEST} | stated))


def init_app(app: Flask) -> None:
    app.url_map.converters["int"] = Number
