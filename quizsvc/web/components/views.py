"""For people who work on the look: every component in every state, only where switched on."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from flask import Blueprint, render_template
from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError, NotFoundError
from quizsvc.items.topics import TOPICS
from quizsvc.web.components import samples
from quizsvc.web.practise.places import lettered

components = Blueprint("components", __name__, url_prefix="/components")

ANY = {"topic": None, "sheet": None}
REFUSED = InputError(
    "that is not a number.",
    field="number",
    value="seven <b>mm</b>",
    remedy="Type digits, for example 12.5 or 12,5.",
)


def _item(item: object, **more: Any) -> tuple[str, dict[str, Any]]:
    shown = {
        "item": item,
        "figure": samples.FIGURE,
        "typed": MultiDict(),
        "refusal": None,
        "wish": ANY,
    }
    return "practise/item.html", shown | more


def _outcome(outcome: object) -> tuple[str, dict[str, Any]]:
    return "practise/outcome.html", {"outcome": outcome, "figure": samples.SOLVED, "wish": ANY}


PAGES: Mapping[str, tuple[str, dict[str, Any]]] = {
    "overview": ("practise/overview.html", {"overview": samples.OVERVIEW, "wish": ANY}),
    "overview-empty": ("practise/overview.html", {"overview": samples.EMPTY_OVERVIEW, "wish": ANY}),
    "item-one-choice": _item(samples.ONE_CHOICE),
    "item-several-choices": _item(samples.SEVERAL),
    "item-number": _item(samples.NUMBER),
    "item-number-refused": _item(
        samples.NUMBER, refusal=REFUSED, typed=MultiDict({"number": "seven <b>mm</b>"})
    ),
    "item-order": _item(samples.ORDER, figure=None),
    "item-match": _item(samples.MATCH, figure=None),
    "item-bench-turn": _item(samples.TURN),
    "item-bench-refit": _item(samples.REFIT),
    "item-point": _item(samples.POINT, figure=lettered(samples.FIGURE, samples.POINT.places)),
    "outcome-wrong": _outcome(samples.WRONG),
    "outcome-right": _outcome(samples.RIGHT),
    "history": ("practise/history.html", {"history": samples.HISTORY, "topics": TOPICS}),
    "history-empty": (
        "practise/history.html",
        {"history": samples.EMPTY_HISTORY, "topics": TOPICS},
    ),
}


@components.get("/")
def index() -> str:
    return render_template("components/index.html", pages=PAGES, samples=samples, refused=REFUSED)


@components.get("/<name>")
def page(name: str) -> str:
    if name not in PAGES:
        raise NotFoundError("there is no such page of components.", field="name", value=name)
    template, shown = PAGES[name]
    return render_template(template, **shown)
