"""The blueprint of signing in and of one's own account, which its modules of views add to."""

from __future__ import annotations

from flask import Blueprint

accounts = Blueprint("accounts", __name__)
