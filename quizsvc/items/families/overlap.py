"""Valve overlap from the cam card."""

from __future__ import annotations

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    CARD_GIVES,
    EVENT_TITLES,
    card_givens,
    card_words,
    degree_sum,
    event_circle,
    event_words,
    unusual_card,
    usual_card,
)
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.valves import ValveEvents

IDEAS: tuple[Idea[ValveEvents], ...] = (
    Idea(
        "overlap-at-bottom",
        lambda c: c.ivc_abdc + c.evo_bbdc,
        "These are the angles at BDC; the valves overlap at exhaust TDC.",
    ),
    Idea(
        "overlap-as-difference",
        lambda c: abs(c.ivo_btdc - c.evc_atdc),
        "The angles at TDC are not taken from each other; with their signs they add up.",
    ),
    Idea(
        "overlap-one-valve-only",
        lambda c: c.evc_atdc,
        "This is only how late the exhaust valve closes; the intake valve's angle belongs to it.",
    ),
    Idea(
        "events-in-cam-degrees",
        lambda c: c.overlap_deg / 2,
        "The card is in crank degrees, and crank degrees are asked: nothing is halved.",
    ),
    Idea(
        "event-side-ignored",
        lambda c: abs(c.ivo_btdc) + abs(c.evc_atdc),
        "An event on the other side of TDC cuts the overlap; its angle comes off.",
    ),
    Idea(
        "overlap-gap-added-up",
        lambda c: -abs(c.ivo_btdc) - abs(c.evc_atdc) if c.ivo_btdc * c.evc_atdc < 0 else None,
        "Both angles lie on the same side of TDC, so they do not add up.",
    ),
    Idea(
        "before-after-swapped",
        lambda c: -c.overlap_deg if c.overlap_deg < 0 else None,
        "Before and after TDC are swapped here; that turns a pause into an overlap.",
    ),
    Idea(
        "other-valve-read",
        lambda c: c.ivo_btdc + c.evo_bbdc,
        "This adds the two opening angles; overlap ends with a closing.",
    ),
)


@family(
    "overlap",
    version=1,
    topic="valves",
    title="Valve overlap",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=CARD_GIVES,
    asks="deg",
    key_follows="Intake opening before TDC plus exhaust closing after TDC, each with its sign.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: both usual. Apply: one beyond TDC, so that there may be a pause instead."""
    card = usual_card(sheet, draw) if level is Level.RECALL else unusual_card(sheet, draw)
    if not card.overlap_deg:
        raise Redraw
    figure = event_circle(card, span="overlap")
    return Question(
        prompt=f"{card_words(card)} {_asks(level)}",
        givens=card_givens(card),
        asked=Asked("deg", "°", 0),
        steps=_steps(card),
        value=card.overlap_deg,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, card),
        right_because="From intake opening to exhaust closing, across exhaust TDC.",
        keep="event-side-ignored" if level is not Level.RECALL else "",
        **pictured(circle, figure),
    )


def _asks(level: Level) -> str:
    asked = "How large is the overlap, in whole crank degrees?"
    if level is Level.APPLY:
        return f"{asked} If both valves are shut in between, give that angle with a minus."
    return asked


def _signed(name: str, value: float) -> Step:
    valve = EVENT_TITLES[name].capitalize()
    counts = "this lengthens the overlap" if value >= 0 else "this shortens the overlap"
    return Step(f"{valve} {event_words(name, value)}: {counts}.", value, "°")


def _steps(card: ValveEvents) -> tuple[Step, ...]:
    total = degree_sum(card.ivo_btdc, card.evc_atdc)
    said = (
        _signed("ivo_btdc", card.ivo_btdc),
        _signed("evc_atdc", card.evc_atdc),
        Step(f"Together: {total}.", card.overlap_deg, "°"),
    )
    if card.overlap_deg < 0:
        return (*said, Step("The exhaust closes before the intake opens: there is no overlap."))
    return said
