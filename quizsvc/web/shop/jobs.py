"""The shop's jobs: the list, and the form of one."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from quizsvc.errors import ConflictError, InputError
from quizsvc.services import shop_jobs as service
from quizsvc.web.access import actor, login_required
from quizsvc.web.current import house, now
from quizsvc.web.shop.forms import Fields, fields_of, needs_in
from quizsvc.web.shop.place import shop


@shop.get("/jobs")
@login_required
def jobs() -> str:
    return render_template("shop/jobs.html", jobs=service.listed(house(), actor()))


@shop.get("/jobs/new")
@login_required
def new_job() -> str:
    return _form(None, Fields())


@shop.post("/jobs/new")
@login_required
def make_job() -> Response | tuple[str, int]:
    return _keep(None)


@shop.get("/jobs/<int:job_id>")
@login_required
def job(job_id: int) -> str:
    return _form(job_id, fields_of(service.find(house(), actor(), job_id)))


@shop.post("/jobs/<int:job_id>")
@login_required
def keep_job(job_id: int) -> Response | tuple[str, int]:
    return _keep(job_id)


@shop.post("/jobs/<int:job_id>/end")
@login_required
def end_job(job_id: int) -> Response:
    service.end(house(), actor(), job_id, now=now())
    flash("Taken off the list.")
    return redirect(url_for("shop.jobs"))


def _keep(job_id: int | None) -> Response | tuple[str, int]:
    typed = request.form
    title, about = typed.get("title", ""), typed.get("about", "")
    try:
        service.keep(house(), actor(), job_id, title, about, needs_in(typed), now=now())
    except (InputError, ConflictError) as refusal:
        return _form(job_id, typed, refusal), 422
    flash("Kept. The matrix goes by it from now on.")
    return redirect(url_for("shop.jobs"))


def _form(
    job_id: int | None, typed: Fields, refusal: InputError | ConflictError | None = None
) -> str:
    choices = service.choices(house(), actor())
    return render_template(
        "shop/job.html", job_id=job_id, typed=typed, choices=choices, refusal=refusal
    )
