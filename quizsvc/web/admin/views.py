"""The administration: importing this makes its blueprint whole."""

from __future__ import annotations

from quizsvc.web.admin import classes, invitations, log, people, roster, shops, sign_in_rule
from quizsvc.web.admin.place import admin

__all__ = ["admin", "classes", "invitations", "log", "people", "roster", "shops", "sign_in_rule"]
