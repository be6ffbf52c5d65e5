"""Candidates: admit them to a test, and decide about them."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import QuizsvcError
from quizsvc.rules.permissions import May, allows
from quizsvc.rules.schemes import VersionState
from quizsvc.services import people_to_choose
from quizsvc.services.certifying import (
    admitting,
    appeals,
    cases,
    changed_results,
    deciding,
    kept_forms,
    schemes,
)
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates import forms
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import key_number, whole_number


@certificates.get("/candidates")
@login_required
def candidates() -> str:
    return _candidates_page()


@certificates.post("/candidates")
@login_required
def admit() -> Response | tuple[str, int]:
    try:
        form_id = _admit(request.form)
    except QuizsvcError as refusal:
        return _candidates_page(refusal), 422
    flash("Admitted. The test stands in the candidate's list of what is due.")
    return redirect(url_for("certificates.case", form_id=form_id))


@certificates.get("/candidates/<int:form_id>")
@login_required
def case(form_id: int) -> str:
    found = cases.case(house(), actor(), form_id, now=now())
    since = changed_results.since_decided(house(), actor(), form_id, now=now())
    me = actor().person_id
    return render_template("certificates/case.html", case=found, since=since, me=me)


@certificates.get("/candidates/<int:form_id>/form")
@login_required
def rebuilt(form_id: int) -> str:
    form, same = kept_forms.rebuilt(house(), actor(), form_id)
    return render_template("certificates/rebuilt.html", form=form, same=same, form_id=form_id)


@certificates.post("/candidates/<int:form_id>/decide")
@login_required
def decide_case(form_id: int) -> Response:
    certify = request.form.get("deed") == "certify"
    reason = request.form.get("reason", "")
    final = deciding.decide(house(), actor(), form_id, certify=certify, reason=reason, now=now())
    flash("Decided." if final else "Proposed. Somebody who neither taught nor assessed confirms.")
    return redirect(url_for("certificates.case", form_id=form_id))


@certificates.post("/candidates/<int:form_id>/decisions/<int:decision_id>/confirm")
@login_required
def confirm(form_id: int, decision_id: int) -> Response:
    deciding.confirm(house(), actor(), decision_id, now=now())
    flash("Confirmed. The decision stands.")
    return redirect(url_for("certificates.case", form_id=form_id))


@certificates.post("/candidates/<int:form_id>/decisions/<int:decision_id>/answer")
@login_required
def answer_appeal(form_id: int, decision_id: int) -> Response:
    upheld = request.form.get("deed") == "uphold"
    answer = request.form.get("answer", "")
    appeals.answer_appeal(house(), actor(), decision_id, upheld=upheld, answer=answer, now=now())
    flash("Answered. The candidate sees it on their page.")
    return redirect(url_for("certificates.case", form_id=form_id))


def _admit(fields: forms.Fields) -> int:
    return admitting.admit(
        house(),
        actor(),
        key_number(fields.get("scheme", ""), "scheme"),
        key_number(fields.get("person", ""), "candidate"),
        extra_minutes=whole_number(fields.get("extra") or "0", "extra minutes"),
        now=now(),
    )


def _candidates_page(refusal: QuizsvcError | None = None) -> str:
    may_admit = allows(actor(), May.ADMIT)
    people = people_to_choose.learners(house(), actor()) if may_admit else ()
    published = [
        one for one in schemes.listed(house(), actor()) if one.state is VersionState.PUBLISHED
    ]
    return render_template(
        "certificates/candidates.html",
        lines=cases.listed(house(), actor()),
        changed=changed_results.to_decide(house(), actor()),
        published=published,
        people=people,
        may_admit=may_admit,
        refusal=refusal,
        typed=request.form,
    )
