"""The blueprints of certification: for people signed in, and for anybody who verifies."""

from __future__ import annotations

from flask import Blueprint

certificates = Blueprint("certificates", __name__, url_prefix="/certificates")
verifying = Blueprint("verifying", __name__)
