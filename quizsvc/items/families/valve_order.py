"""Family `valve-order`: valve events in the order in which they happen."""

from __future__ import annotations

from itertools import pairwise

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    CARD_GIVES,
    EVENT_TITLES,
    card_givens,
    card_words,
    event_circle,
    unusual_card,
    usual_card,
)
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.valves import ValveEvents

POWER_BDC, EXHAUST_TDC, INTAKE_BDC = "BDC after power", "exhaust TDC", "BDC after intake"
Order = tuple[str, ...]


def _angles(card: ValveEvents) -> dict[str, float]:
    """Angle after the cylinder's firing TDC of each event and dead centre."""
    return {
        EVENT_TITLES["evo_bbdc"]: 180 - card.evo_bbdc,
        POWER_BDC: 180,
        EVENT_TITLES["ivo_btdc"]: 360 - card.ivo_btdc,
        EXHAUST_TDC: 360,
        EVENT_TITLES["evc_atdc"]: 360 + card.evc_atdc,
        INTAKE_BDC: 540,
        EVENT_TITLES["ivc_abdc"]: 540 + card.ivc_abdc,
    }


def in_order(card: ValveEvents) -> Order:
    angles = _angles(card)
    return tuple(sorted(angles, key=lambda name: angles[name]))


def _without_overlap(card: ValveEvents) -> Order:
    """Exhaust shut at TDC before the intake opens."""
    late = abs(card.ivo_btdc)
    return in_order(ValveEvents(-late - 1, card.ivc_abdc, card.evo_bbdc, -0.5))


def _with_overlap(card: ValveEvents) -> Order:
    opens, closes = abs(card.ivo_btdc), abs(card.evc_atdc)
    return in_order(ValveEvents(opens, card.ivc_abdc, card.evo_bbdc, closes))


IDEAS: tuple[Idea[ValveEvents], ...] = (
    Idea(
        "exhaust-shut-before-intake",
        _without_overlap,
        "This has the exhaust valve shut at TDC and the intake open after it; the card says "
        "otherwise.",
    ),
    Idea(
        "event-side-ignored",
        _with_overlap,
        "This takes every event for one on its usual side of TDC.",
    ),
    Idea(
        "intake-shut-at-bottom",
        lambda c: in_order(ValveEvents(c.ivo_btdc, -c.ivc_abdc, c.evo_bbdc, c.evc_atdc)),
        "The intake valve closes after BDC, while the piston is already on its way up.",
    ),
    Idea(
        "exhaust-opens-after-bottom",
        lambda c: in_order(ValveEvents(c.ivo_btdc, c.ivc_abdc, -c.evo_bbdc, c.evc_atdc)),
        "The exhaust valve opens before BDC, towards the end of the power stroke.",
    ),
    Idea(
        "before-after-swapped",
        lambda c: in_order(ValveEvents(-c.ivo_btdc, c.ivc_abdc, c.evo_bbdc, -c.evc_atdc)),
        "Before and after TDC are swapped here.",
    ),
)


@family(
    "valve-order",
    version=1,
    topic="valves",
    title="Order of the valve events",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.ORDER, Kind.ONE_CHOICE),
    gives=CARD_GIVES,
    asks="order",
    key_follows="Events and dead centres by their angle after the cylinder's firing TDC.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: a usual card. Apply: an event on the other side of TDC changes the order."""
    card = usual_card(sheet, draw) if level is Level.RECALL else unusual_card(sheet, draw)
    if not card.overlap_deg:
        raise Redraw
    order = in_order(card)
    choose = kind is Kind.ONE_CHOICE
    figure = event_circle(card)
    return Question(
        prompt=f"{card_words(card)} {_asks(choose=choose)}",
        givens=card_givens(card),
        asked=Asked("order", ""),
        steps=_steps(card),
        right=((order, _words(order)),) if choose else (),
        sequence=() if choose else order,
        before=() if choose else _rules(card),
        wrong=wrong_answers(IDEAS, card, _words),
        right_because="By their angle after firing TDC.",
        **pictured(circle, figure),
    )


def _asks(*, choose: bool) -> str:
    if choose:
        return "In which order do these come, from firing TDC on?"
    return "Put events and dead centres in the order in which they come, from firing TDC on."


def _words(order: object) -> str:
    if not isinstance(order, tuple):
        return ""
    return " → ".join(str(name).split(" after")[0].replace("exhaust TDC", "TDC") for name in order)


def _rules(card: ValveEvents) -> tuple[tuple[str, str, str], ...]:
    angles = {name: degrees(deg) for name, deg in _angles(card).items()}
    return tuple(
        (a, b, f"After firing TDC “{a}” comes at {angles[a]}, “{b}” at {angles[b]}.")
        for a, b in pairwise(in_order(card))
    )


def _steps(card: ValveEvents) -> tuple[Step, ...]:
    angles = _angles(card)
    first = Step("BDC after power is at 180°, exhaust TDC at 360°, BDC after intake at 540°.")
    placed = [
        Step(f"{name.capitalize()}: {degrees(angles[name])} after firing TDC.", angles[name], "°")
        for name in in_order(card)
        if name in EVENT_TITLES.values()
    ]
    return (first, *placed, Step("By size: " + _words(in_order(card)) + "."))
