"""Make schemes: their terms, what there is for the blueprint, publishing, and the standards."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import InputError
from quizsvc.items.model import Level
from quizsvc.items.topics import TOPICS
from quizsvc.rules.permissions import May, allows
from quizsvc.services.certifying import form_supply, judging, panels, scheme_standing, schemes
from quizsvc.web.access import actor, login_required
from quizsvc.web.certificates import forms
from quizsvc.web.certificates.place import certificates
from quizsvc.web.current import house, now


@certificates.get("/schemes")
@login_required
def listed() -> str:
    return render_template(
        "certificates/schemes.html",
        lines=schemes.listed(house(), actor()),
        to_judge=judging.to_judge(house(), actor()),
    )


@certificates.get("/schemes/new")
@login_required
def new() -> str:
    return _terms_page(forms.blank())


@certificates.post("/schemes/new")
@login_required
def make() -> Response | tuple[str, int]:
    try:
        made = schemes.draft(house(), actor(), forms.terms_in(request.form), now=now())
    except InputError as refusal:
        return _terms_page(request.form, refusal), 422
    return redirect(url_for("certificates.scheme", version_id=made))


@certificates.get("/schemes/<int:version_id>")
@login_required
def scheme(version_id: int) -> str:
    return _scheme_page(version_id)


@certificates.get("/schemes/<int:version_id>/terms")
@login_required
def terms(version_id: int) -> str:
    held = schemes.look(house(), actor(), version_id)
    return _terms_page(forms.fields_of(held.terms), version_id=version_id)


@certificates.post("/schemes/<int:version_id>/terms")
@login_required
def change(version_id: int) -> Response | tuple[str, int]:
    try:
        schemes.change(house(), actor(), version_id, forms.terms_in(request.form))
    except InputError as refusal:
        return _terms_page(request.form, refusal, version_id=version_id), 422
    return redirect(url_for("certificates.scheme", version_id=version_id))


@certificates.post("/schemes/<int:version_id>/next")
@login_required
def next_version(version_id: int) -> Response:
    made = schemes.new_version(house(), actor(), version_id, now=now())
    flash("A draft of the next version. Certificates keep the version they were issued by.")
    return redirect(url_for("certificates.scheme", version_id=made))


@certificates.post("/schemes/<int:version_id>/publish")
@login_required
def publish(version_id: int) -> Response:
    schemes.publish(house(), actor(), version_id, now=now())
    flash("Published. From now on people are certified by this version.")
    return redirect(url_for("certificates.scheme", version_id=version_id))


@certificates.get("/schemes/<int:version_id>/standards")
@login_required
def standards(version_id: int) -> str:
    held, points, consistency = scheme_standing.standards(house(), actor(), version_id)
    return render_template(
        "certificates/standards.html", held=held, points=points, consistency=consistency
    )


def _scheme_page(version_id: int) -> str:
    held = schemes.look(house(), actor(), version_id)
    return render_template(
        "certificates/scheme.html",
        held=held,
        supply=form_supply.supply(house(), actor(), version_id, now=now()),
        panel=panels.panel_page(house(), actor(), version_id),
        record=panels.cut_record(held),
        choices=schemes.choices(house(), actor()),
        is_maker=held.stored.made_by == actor().person_id,
        may_keep=allows(actor(), May.KEEP_SCHEMES),
    )


def _terms_page(
    typed: forms.Fields, refusal: InputError | None = None, *, version_id: int | None = None
) -> str:
    return render_template(
        "certificates/terms.html",
        typed=typed,
        refusal=refusal,
        choices=schemes.choices(house(), actor()),
        topics=TOPICS,
        levels=tuple(Level),
        places=forms.task_places(typed),
        version_id=version_id,
    )
