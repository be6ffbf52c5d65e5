"""From the address of a bench to its state and what is to be done, and back again.

The state goes with the address: ``crank`` (degrees turned), ``slip`` (``drive:teeth``, several),
``off`` (``drive:degrees``), ``cylinder`` and ``chain`` (which are chosen). ``do`` is a deed:
``turn:10``, ``to:90``, ``to-marks``, ``to-safe``, ``slip:-1``, ``take-off`` or ``refit``.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from werkzeug.datastructures import MultiDict

from quizsvc.errors import InputError
from quizsvc.items.model import BenchStart
from quizsvc.scoring.numbers import parse_number
from quizsvc.services.bench_moves import Deed, put_on_bench
from quizsvc.sheets.bench_state import BenchState, Off, Setting

Fields = MultiDict[str, str]
Query = dict[str, str | list[str]]
LONGEST = 80
MOST_SLIPS = 20
_PLAIN = {
    "to-marks": Deed.TO_MARKS,
    "to-safe": Deed.TO_SAFE,
    "take-off": Deed.TAKE_OFF,
    "refit": Deed.REFIT,
}


@dataclass(frozen=True, slots=True)
class Asked:
    """What an address asks for: a state, what is chosen, and a deed to do first."""

    state: BenchState
    cylinder: int | None
    chain: str
    deed: Deed | None = None
    by: float = 0.0


def asked_in(fields: Fields, start: BenchState) -> Asked:
    """Return what the free bench is asked for.

    Raises:
        InputError: something cannot be read.
    """
    slipped = Setting()
    for text in fields.getlist("slip")[:MOST_SLIPS]:
        drive, teeth = _pair(text, "slip")
        slipped = slipped.with_teeth(drive, _whole(teeth, "slip"))
    state = BenchState(_crank(fields, start.turned_deg), replace(slipped, off=_off(fields)))
    return _with_deed(fields, state)


def asked_in_item(fields: Fields, start: BenchStart) -> Asked:
    """Return what the bench of an item is asked for; ``moved`` counts from how it was put."""
    moved = _whole(fields.get("moved") or "0", "moved")
    state = put_on_bench(
        start, moved=moved, turned_deg=_crank(fields, start.crank_deg), off=_off(fields)
    )
    return _with_deed(fields, state)


def query_of(state: BenchState) -> Query:
    """Return the fields of an address that stand for a state of the free bench."""
    slips = [f"{drive}:{teeth}" for drive, teeth in state.setting.slipped]
    return _query(state) | ({"slip": slips} if slips else {})


def item_query_of(state: BenchState, start: BenchStart) -> Query:
    """Return the fields for an item: only what the person did, not how it was put."""
    moved = moved_in(state, start)
    return _query(state) | ({"moved": str(moved)} if moved else {})


def moved_in(state: BenchState, start: BenchStart) -> int:
    """Return the teeth that the person moved the chain of an item's bench."""
    return state.setting.teeth(start.drive) - start.teeth_off if start.drive else 0


def _query(state: BenchState) -> Query:
    query: Query = {"crank": f"{state.turned_deg:.1f}".removesuffix(".0")}
    if state.setting.off is not None:
        off = state.setting.off
        query["off"] = f"{off.drive}:{off.at_deg:g}"
    return query


def _with_deed(fields: Fields, state: BenchState) -> Asked:
    cylinder = fields.get("cylinder")
    asked = Asked(
        state, _whole(cylinder, "cylinder") if cylinder else None, fields.get("chain", "")
    )
    doing, _, amount = fields.get("do", "").partition(":")
    if not doing:
        return asked
    if doing == "turn":
        return replace(asked, deed=Deed.TURN, by=_number(amount, "turn"))
    if doing == "to":
        to = _number(amount or fields.get("to", ""), "to", unit="°")
        return replace(asked, deed=Deed.TURN, by=to - state.crank_deg)
    if doing == "slip":
        return replace(asked, deed=Deed.SLIP, by=_whole(amount, "slip"))
    return replace(asked, deed=_plain_deed(doing))


def _plain_deed(doing: str) -> Deed:
    if doing in _PLAIN:
        return _PLAIN[doing]
    raise InputError(
        "the bench cannot do that.",
        field="do",
        value=doing[:LONGEST],
        remedy="Use the buttons of the page.",
    )


def _crank(fields: Fields, otherwise: float) -> float:
    text = fields.get("crank", "")
    return round(_number(text, "crank", unit="°"), 1) if text else otherwise


def _off(fields: Fields) -> Off | None:
    text = fields.get("off", "")
    if not text:
        return None
    drive, deg = _pair(text, "off")
    return Off(drive, _number(deg, "off"))


def _pair(text: str, field: str) -> tuple[str, str]:
    name, colon, amount = text[:LONGEST].partition(":")
    if not colon:
        raise InputError(
            "a chain and a number belong here.",
            field=field,
            value=text[:LONGEST],
            remedy="Write them as chain:number.",
        )
    return name, amount


def _number(text: str, field: str, unit: str = "") -> float:
    number = parse_number(text[: LONGEST + 1], field=field, unit=unit)
    if abs(number) > 1e6:
        raise InputError(
            "that is further than the bench turns.",
            field=field,
            value=text[:LONGEST],
            remedy="Give an angle from 0 to 720°.",
        )
    return number


def _whole(text: str, field: str) -> int:
    number = _number(text, field)
    if number != round(number):
        raise InputError(
            "that is no whole number.", field=field, value=text[:LONGEST], remedy="Leave decimals."
        )
    return round(number)
