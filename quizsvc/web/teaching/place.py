"""The blueprint of teaching, which its modules of views add to."""

from __future__ import annotations

from flask import Blueprint

teaching = Blueprint("teaching", __name__, url_prefix="/teaching")
