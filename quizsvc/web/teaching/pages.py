"""Teaching: importing this makes its blueprint whole."""

from __future__ import annotations

from quizsvc.web.teaching import again, items, paper
from quizsvc.web.teaching.place import teaching

__all__ = ["again", "items", "paper", "teaching"]
