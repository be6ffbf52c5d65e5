"""Hand-written items: search, write, look, review; importing this makes the blueprint whole."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as BaseResponse

from quizsvc.errors import ConflictError, InputError, QuizsvcError
from quizsvc.services import banks_at_hand, search_items, write_items
from quizsvc.services import pictures as picture_service
from quizsvc.services import remark as remark_service
from quizsvc.services import review as review_service
from quizsvc.services.authored import Draft
from quizsvc.web.access import actor, login_required
from quizsvc.web.bank import carrying, forms, pictures, tests_again, words
from quizsvc.web.bank.fields import changed_names
from quizsvc.web.bank.place import bank
from quizsvc.web.current import house, now
from quizsvc.web.whole_numbers import whole_or_none

__all__ = ["bank", "carrying", "pictures", "tests_again"]


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


def _new_draft() -> Draft:
    like = request.args.get("like", "")
    kind = forms.known_kind(request.args.get("kind", "one choice"))
    bank_id = request.args.get("bank", "")
    return write_items.new_draft(house(), actor(), bank_id, kind, like=whole_or_none(like))


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
    return whole_or_none(request.args.get(name, ""))
