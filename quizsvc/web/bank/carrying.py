"""Banks: make them, bring items in and take them away."""

from __future__ import annotations

from flask import Response, flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import ConflictError, InputError
from quizsvc.rules.permissions import May, require
from quizsvc.services import (
    background,
    bank_texts,
    banks_at_hand,
    import_items,
    import_report,
    interchange,
)
from quizsvc.web.access import actor, login_required
from quizsvc.web.bank import forms, words
from quizsvc.web.bank.place import bank
from quizsvc.web.current import house, now


@bank.get("/banks")
@login_required
def banks() -> str:
    found = banks_at_hand.choices(house(), actor())
    return render_template("bank/banks.html", banks=found, refusal=None)


@bank.post("/banks")
@login_required
def make_bank() -> BaseResponse | tuple[str, int]:
    said = {name: request.form.get(name, "").strip() for name in ("bank_id", "title", "about")}
    try:
        banks_at_hand.make_bank(house(), actor(), **said, now=now())
    except (InputError, ConflictError) as refusal:
        found = banks_at_hand.choices(house(), actor())
        return render_template("bank/banks.html", banks=found, refusal=refusal), 422
    flash(f"The bank “{said['title']}” is there; write its first item.")
    return redirect(url_for("bank.choose_kind", bank=said["bank_id"]))


@bank.get("/banks/<bank_id>.toml")
@login_required
def take_away(bank_id: str) -> Response:
    drafts = request.args.get("drafts") == "1"
    file = bank_texts.take_away(house(), actor(), bank_id, drafts=drafts)
    sent = Response(file.text, mimetype="application/toml")
    sent.headers.set("Content-Disposition", "attachment", filename=file.name)
    return sent


@bank.get("/banks/<bank_id>.zip")
@login_required
def as_package(bank_id: str) -> Response:
    return _carried(bank_id, "zip")


@bank.get("/banks/<bank_id>.csv")
@login_required
def as_table(bank_id: str) -> Response:
    return _carried(bank_id, "csv")


@bank.get("/import")
@login_required
def bring_in() -> str:
    require(actor(), May.WRITE_ITEMS)
    return render_template("bank/import.html", refusal=None)


@bank.post("/import")
@login_required
def check_import() -> BaseResponse | tuple[str, int]:
    name, content = forms.sent_file("bank")
    try:
        job = import_report.ask_for_report(house(), actor(), file=name, content=content, now=now())
    except InputError as refusal:
        return render_template("bank/import.html", refusal=refusal), 422
    return redirect(url_for("bank.work", job_id=job))


@bank.get("/work/<int:job_id>")
@login_required
def work(job_id: int) -> str:
    job = background.job_of(house(), actor(), job_id)
    report = import_report.report_of(house(), actor(), job_id)
    return render_template("bank/work.html", job=job, report=report, written=words.written(job))


@bank.post("/work/<int:job_id>/write")
@login_required
def write_import(job_id: int) -> BaseResponse:
    job = import_items.ask_for_import(house(), actor(), job_id, now=now())
    return redirect(url_for("bank.work", job_id=job))


def _carried(bank_id: str, form: str) -> Response:
    drafts = request.args.get("drafts") == "1"
    file = interchange.carry_away(house(), actor(), bank_id, form, drafts=drafts)
    sent = Response(file.content, content_type=file.mimetype)
    sent.headers.set("Content-Disposition", "attachment", filename=file.name)
    return sent
