"""What a page with a bench shows, free or within an item, and what its script is told."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from flask import url_for
from markupsafe import Markup

from quizsvc.errors import InputError
from quizsvc.figures.bench_parts import render
from quizsvc.items.model import BenchStart, BenchTask
from quizsvc.services import bench as service
from quizsvc.services import bench_moves
from quizsvc.services.bench import Bench
from quizsvc.services.bench_words import Hide
from quizsvc.sheets.bench_state import BenchState
from quizsvc.sheets.schema import EngineSheet
from quizsvc.web.bench.forms import (
    Asked,
    Fields,
    Query,
    asked_in,
    asked_in_item,
    item_query_of,
    moved_in,
    query_of,
)


@dataclass(frozen=True, slots=True)
class Place:
    """A bench at an address: the engine, how it starts, and the addresses that belong to it."""

    sheet: EngineSheet
    start: BenchState
    address: Callable[..., str]
    state_address: str
    motion_address: str
    read: Callable[[Fields], Asked]
    query: Callable[[BenchState], Query]
    hide: Hide = Hide.NOTHING
    item: BenchStart | None = None

    def done(self, asked: Asked) -> Asked:
        """Do what was asked; the result asks for nothing more."""
        state = bench_moves.checked(self.sheet, asked.state)
        if asked.deed is not None:
            state = bench_moves.do(self.sheet, state, asked.deed, by=asked.by,
                               drive=asked.chain or self.first_chain)  # fmt: skip
        return replace(asked, state=state, deed=None)

    def page(self, shown: Shown) -> str:
        """Return the address of the page in a state."""
        return self.address(**shown.query, **shown.chosen)

    @property
    def first_chain(self) -> str:
        return self.item.drive if self.item and self.item.drive else self.sheet.drives[0].id


@dataclass(frozen=True, slots=True)
class Shown:
    """A bench ready for the templates."""

    bench: Bench
    place: Place
    query: Query
    figures: dict[str, Markup]

    @property
    def chosen(self) -> dict[str, object]:
        """Return what is chosen to be shown and worked on: a cylinder and a chain."""
        return {"cylinder": self.bench.chosen, "chain": self.bench.drive}

    @property
    def action(self) -> str:
        return self.place.address()

    @property
    def reached(self) -> str:
        """What an item's answer says of this state; empty while nothing was done."""
        start = self.place.item
        if start is None or self.bench.state == self.place.start:
            return ""
        if start.task is BenchTask.TURN:
            return f"{self.bench.state.crank_deg:g}"
        return str(-moved_in(self.bench.state, start))  # asked for as teeth ahead


def free_place(sheet: EngineSheet) -> Place:
    """Return the bench where anything may be done and everything is said."""
    start = service.start_of(sheet)
    return Place(
        sheet,
        start,
        partial(url_for, "bench.engine", sheet_id=sheet.id),
        url_for("bench.state", sheet_id=sheet.id),
        url_for("bench.motion", sheet_id=sheet.id),
        partial(asked_in, start=start),
        query_of,
    )


def item_place(
    sheet: EngineSheet, start: BenchStart, token: str, wish: Mapping[str, str | None]
) -> Place:
    """Return the bench of an item, which does not say what is asked for."""
    return Place(
        sheet,
        bench_moves.put_on_bench(start),
        lambda **query: url_for("practise.item", token=token, **(dict(wish) | query)),
        url_for("bench.item_state", token=token),
        url_for("bench.item_motion", token=token),
        partial(asked_in_item, start=start),
        partial(item_query_of, start=start),
        service.hidden_in(start),
        start,
    )


def page_of(place: Place, fields: Fields) -> tuple[Shown, InputError | None]:
    """Return the bench after what was asked, or as it was, and why it would not do it."""
    try:
        return _shown(place, place.done(place.read(fields))), None
    except InputError as refusal:
        return _undone(place, fields), refusal


def _undone(place: Place, fields: Fields) -> Shown:
    """Return the bench without the deed; as it starts where even its state was refused."""
    state = Fields([(name, one) for name, one in fields.items(multi=True) if name != "do"])
    try:
        return _shown(place, place.done(place.read(state)))
    except InputError:
        return _shown(place, Asked(place.start, None, ""))


def state_for_script(
    place: Place, read: Callable[[], Asked]
) -> dict[str, object] | tuple[dict[str, object], int]:
    """Return the state reached in words and as an address, or what was refused."""
    try:
        shown = _shown(place, place.done(read()), drawn=False)
    except InputError as refusal:
        words = {"problem": refusal.problem, "remedy": refusal.remedy or ""}
        return {"refused": words | {"field": refusal.field, "value": str(refusal.value)}}, 422
    bench = shown.bench
    return {
        "turned_deg": bench.state.turned_deg,
        "setting": {name: value for name, value in shown.query.items() if name != "crank"},
        "words": bench.words,
        "contact": bench.contact,
        "chains": [
            {"id": one.drive_id, "words": one.words, "off": one.off} for one in bench.drives
        ],
        "reached": shown.reached,
    }


def _shown(place: Place, asked: Asked, *, drawn: bool = True) -> Shown:
    bench = service.bench_of(
        place.sheet,
        asked.state,
        chosen=asked.cylinder,
        drive=asked.chain or place.first_chain,
        hide=place.hide,
    )
    figures = {
        drawing.name: Markup(render(drawing, pose))  # noqa: S704 - the renderer escapes its words
        for drawing, pose in (bench.drawings if drawn else ())
    }
    return Shown(bench, place, place.query(asked.state), figures)
