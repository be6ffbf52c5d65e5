"""The shop: importing this makes its blueprint whole."""

from __future__ import annotations

from quizsvc.web.shop import changes, cover, jobs, matrix, people, privacy, reading
from quizsvc.web.shop.place import shop

__all__ = ["changes", "cover", "jobs", "matrix", "people", "privacy", "reading", "shop"]
