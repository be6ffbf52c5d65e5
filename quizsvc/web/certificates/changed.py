"""Let a decision stand although its result has changed."""

from __future__ import annotations

from flask import flash, redirect, request, url_for
from werkzeug.wrappers import Response

from quizsvc.services.certifying import changed_results
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now


@certificates.post("/candidates/<int:form_id>/uphold")
@login_required
def uphold(form_id: int) -> Response:
    reason = request.form.get("reason", "")
    changed_results.uphold(house(), actor(), form_id, reason, now=now())
    flash("The decision stands; the candidate is told.")
    return redirect(url_for("certificates.case", form_id=form_id))
