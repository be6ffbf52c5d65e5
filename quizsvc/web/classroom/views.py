"""The classroom: importing this makes its blueprint whole."""

from __future__ import annotations

from quizsvc.web.classroom import building, due, sitting, watching
from quizsvc.web.classroom.place import classroom

__all__ = ["building", "classroom", "due", "sitting", "watching"]
