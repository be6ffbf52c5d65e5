"""Hand-written items: search, write, look at, review, bring in and take away."""

from __future__ import annotations

from dataclasses import asdict
from io import BytesIO

from flask import Blueprint, Response, flash, redirect, render_template, request, send_file, url_for
from werkzeug.datastructures import MultiDict
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import ConflictError, InputError, QuizsvcError
from quizsvc.figures.scene import Scene
from quizsvc.rules.permissions import May, allows, require
from quizsvc.services import (
    background,
    bank_texts,
    banks_at_hand,
    import_items,
    import_report,
    interchange,
    search_items,
    write_items,
)
from quizsvc.services import pictures as picture_service
from quizsvc.services import remark as remark_service
from quizsvc.services import review as review_service
from quizsvc.services.authored import Draft
from quizsvc.services.pictures import SentPicture
from quizsvc.services.shown import OpenItem
from quizsvc.web.access import actor, actor_or_none, login_required
from quizsvc.web.bank import forms, words
from quizsvc.web.bank.fields import changed_names
from quizsvc.web.current import house, now
from quizsvc.web.practise.places import letters_over
from quizsvc.web.uploads import refuse_other_files

LARGEST_BANK, LARGEST_PICTURE = 34_000_000, 16_000_000  # bytes of a request
_LARGE = {"bank.check_import": LARGEST_BANK, "bank.keep_picture": LARGEST_PICTURE}

bank = Blueprint("bank", __name__, url_prefix="/bank")
bank.add_app_template_filter(words.deed_words)
bank.add_app_template_filter(words.field_words)
bank.add_app_template_global(MultiDict, "no_fields")


@bank.app_template_global()
def letters_on(item: OpenItem) -> Scene | None:
    """Return the letters over the picture of an item whose places are pointed at."""
    if not (item.picture and item.places):
        return None
    content = picture_service.picture_for_author(house(), actor(), item.picture)
    return letters_over(content, item.places)


@bank.app_template_global()
def asked(query: search_items.Query) -> dict[str, str]:
    """Return what a search asked for, to be asked for again on another page."""
    said = asdict(query).items()
    return {name: value for name, value in said if value and name != "page"}


@bank.url_value_preprocessor
def allow_large_files(_endpoint: str | None, _values: object) -> None:
    """Let authors, and nobody else, send more than a form; before anything reads the form."""
    person = actor_or_none() if request.endpoint in _LARGE else None
    if person is not None and allows(person, May.WRITE_ITEMS):
        request.max_content_length = _LARGE[request.endpoint or ""]


@bank.get("/")
@login_required
def index() -> str:
    found = search_items.search(house(), actor(), forms.query_in(request.args), now=now())
    banks = banks_at_hand.choices(house(), actor())
    choices = forms.choices_to_search()
    return render_template("bank/index.html", found=found, banks=banks, choices=choices)


@bank.get("/new")
@login_required
def choose_kind() -> str:
    banks = banks_at_hand.choices(house(), actor())
    return render_template(
        "bank/new.html", banks=banks, kinds=forms.KINDS, like=request.args.get("like", "")
    )


@bank.get("/write")
@login_required
def write() -> str | BaseResponse:
    return _form_page(forms.empty_form(_new_draft(), tuple(_picture_texts())))


@bank.post("/write")
@login_required
def write_new() -> str | BaseResponse | tuple[str, int]:
    return _typed(_new_draft())


@bank.get("/items/<int:item_id>/edit")
@login_required
def edit(item_id: int) -> str:
    draft = write_items.draft_of(house(), actor(), item_id, _version())
    return _form_page(forms.empty_form(draft, tuple(_picture_texts())))


@bank.post("/items/<int:item_id>/edit")
@login_required
def save(item_id: int) -> str | BaseResponse | tuple[str, int]:
    return _typed(write_items.draft_of(house(), actor(), item_id, forms.based_on()))


@bank.get("/items/<int:item_id>")
@login_required
def item(item_id: int) -> str:
    page = review_service.item_page(house(), actor(), item_id, _version())
    return render_template("bank/item.html", page=page, refusal=None)


@bank.post("/items/<int:item_id>/review")
@login_required
def decide(item_id: int) -> BaseResponse | tuple[str, int]:
    decision = forms.decision_in(request.form)
    try:
        remark_id = review_service.decide(house(), actor(), item_id, decision, now=now())
    except (InputError, ConflictError) as refusal:
        return _refused(item_id, decision.version, refusal)
    flash(words.done(decision.deed))
    if remark_id is not None:
        return redirect(url_for("bank.remark", item_id=item_id, remark_id=remark_id))
    return redirect(url_for("bank.item", item_id=item_id, version=decision.version))


@bank.get("/items/<int:item_id>/difference")
@login_required
def difference(item_id: int) -> str:
    before, after = (_version(name) or 1 for name in ("before", "after"))
    found = review_service.difference(house(), actor(), item_id, before, after)
    return render_template("bank/difference.html", found=found)


@bank.get("/items/<int:item_id>/remarks/<int:remark_id>")
@login_required
def remark(item_id: int, remark_id: int) -> str:
    found = remark_service.remark_page(house(), actor(), item_id, remark_id)
    return render_template("bank/remark.html", found=found, item_id=item_id)


@bank.get("/pictures")
@login_required
def pictures() -> str:
    found = picture_service.pictures_for(house(), actor())
    return render_template("bank/pictures.html", pictures=found, refusal=None)


@bank.post("/pictures")
@login_required
def keep_picture() -> BaseResponse | tuple[str, int]:
    try:
        file = picture_service.keep_picture(house(), actor(), _sent_picture(), now=now())
    except InputError as refusal:
        found = picture_service.pictures_for(house(), actor())
        return render_template("bank/pictures.html", pictures=found, refusal=refusal), 422
    flash(f"The picture is kept as {file}.")
    return redirect(url_for("bank.pictures"))


def _sent_picture() -> SentPicture:
    refuse_other_files()
    name, content = forms.sent_file("picture")
    return SentPicture(name, content, request.form.get("alt", ""))


@bank.get("/pictures/<file>")
@login_required
def picture(file: str) -> Response:
    content = picture_service.picture_for_author(house(), actor(), file)
    return send_file(BytesIO(content), download_name=file, conditional=False)


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


def _new_draft() -> Draft:
    like = request.args.get("like", "")
    kind = forms.known_kind(request.args.get("kind", "one choice"))
    bank_id = request.args.get("bank", "")
    copied = int(like) if like.isascii() and like.isdigit() and len(like) < 10 else None
    return write_items.new_draft(house(), actor(), bank_id, kind, like=copied)


def _typed(draft: Draft) -> str | BaseResponse | tuple[str, int]:
    """Save what was typed, or show it again with everything found about it."""
    texts = _picture_texts()
    data = forms.typed_data(draft.data["kind"], texts) | _unchanging(draft)
    checked = write_items.check(house(), actor(), draft.bank.id, data)
    if request.form.get("do") != "save":
        return _form_page(forms.typed_form(draft, data, tuple(texts), checked))
    try:
        return _saved(draft, data)
    except (InputError, ConflictError) as refusal:
        form = forms.typed_form(draft, data, tuple(texts), checked, refusal)
        return _form_page(form), 422


def _unchanging(draft: Draft) -> dict[str, object]:
    """Return what the form of an item does not change: the id it was stored under."""
    return {"id": draft.data["id"]} if draft.item_id is not None else {}


def _saved(draft: Draft, data: dict[str, object]) -> BaseResponse:
    saved = write_items.save(
        house(),
        actor(),
        draft.bank.id,
        data,
        item_id=draft.item_id,
        based_on=forms.based_on(),
        said=changed_names(request.form),
        now=now(),
    )
    flash(words.saved(saved))
    return redirect(url_for("bank.item", item_id=saved.item_id, version=saved.version))


def _refused(item_id: int, version: int, refusal: QuizsvcError) -> tuple[str, int]:
    page = review_service.item_page(house(), actor(), item_id, version)
    return render_template("bank/item.html", page=page, refusal=refusal), 422


def _form_page(form: forms.Form) -> str:
    return render_template(
        "bank/edit.html",
        form=form,
        topics=forms.TOPIC_CHOICES,
        levels=forms.LEVELS,
        ideas=forms.ideas(),
    )


def _picture_texts() -> dict[str, str]:
    return {one.file: one.alt for one in picture_service.pictures_for(house(), actor())}


def _version(name: str = "version") -> int | None:
    text = request.args.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None
