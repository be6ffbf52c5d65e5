"""Lobe centre of a valve from the cam card."""

from __future__ import annotations

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    CARD_GIVES,
    VALVES,
    ValveOnCard,
    card_givens,
    card_words,
    degree_sum,
    event_circle,
    unusual_card,
    usual_card,
)
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet

IDEAS: tuple[Idea[ValveOnCard], ...] = (
    Idea(
        "lobe-centre-half-duration",
        lambda v: v.duration_deg / 2,
        "Half the duration is counted from the seat; the angle at TDC still has to come off.",
    ),
    Idea(
        "lobe-centre-angle-added",
        lambda v: v.duration_deg / 2 + v.at_tdc,
        "The angle at TDC comes off half the duration, with its sign; it is not put on.",
    ),
    Idea(
        "lobe-centre-from-bottom",
        lambda v: v.duration_deg / 2 - v.at_bdc,
        "This counts from BDC; the lobe centre is stated from TDC.",
    ),
    Idea(
        "half-turn-forgotten",
        lambda v: (v.at_bdc - v.at_tdc) / 2,
        "The 180° between the dead centres belong to the duration.",
    ),
    Idea(
        "events-in-cam-degrees",
        lambda v: v.lobe_centre_deg / 2,
        "Crank degrees are asked, so nothing is halved at the end.",
    ),
    Idea(
        "event-side-ignored",
        lambda v: 90 + abs(v.at_bdc) / 2 - abs(v.at_tdc) / 2,
        "The angle at TDC lies on the unusual side here, so its sign turns.",
    ),
    Idea(
        "other-valve-read",
        lambda v: v.other.lobe_centre_deg,
        "This is the lobe centre of the other valve.",
    ),
)


@family(
    "lobe-centre",
    version=1,
    topic="valves",
    title="Lobe centre",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "valve"),
    asks="deg",
    key_follows="Half the duration less the angle at TDC; after TDC for the intake, before TDC "
    "for the exhaust.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: a usual card. Apply: the valve whose event lies on the other side of TDC."""
    valve = draw.choice(VALVES)
    card = usual_card(sheet, draw) if level is Level.RECALL else unusual_card(sheet, draw)
    if level is Level.APPLY:
        valve = "intake" if card.ivo_btdc < 0 else "exhaust"
    state = ValveOnCard(card, valve)
    side = "after" if valve == "intake" else "before"
    figure = event_circle(card, span=f"{valve} lobe centre")
    return Question(
        prompt=f"{card_words(card)} How many crank degrees {side} TDC is the {valve} lobe "
        "centre, the middle of its opening? Give one decimal.",
        givens={**card_givens(card), "valve": Given(valve)},
        asked=Asked("deg", "°", 1),
        steps=_steps(state, side),
        value=state.lobe_centre_deg,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, state),
        right_because="Half the duration counted from the seat, less what lies beyond TDC.",
        keep="event-side-ignored" if level is Level.APPLY else "",
        **pictured(circle, figure),
    )


def _steps(state: ValveOnCard, side: str) -> tuple[Step, ...]:
    half = state.duration_deg / 2
    seat = "opening" if state.valve == "intake" else "closing"
    return (
        Step(f"Duration: {degree_sum(180, state.at_tdc, state.at_bdc)}.", state.duration_deg, "°"),
        Step(f"Half of it, {degrees(half)}, lies between lobe centre and {seat}.", half, "°"),
        Step(
            f"Counted from TDC: {degree_sum(half, -state.at_tdc)} {side} TDC.",
            state.lobe_centre_deg,
            "°",
        ),
    )
