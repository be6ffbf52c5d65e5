"""How long a valve stays open, from its cam card."""

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
        "half-turn-forgotten",
        lambda v: v.at_tdc + v.at_bdc,
        "This leaves out the 180° between the dead centres, all of which the valve is open.",
    ),
    Idea(
        "half-turn-taken-as-whole",
        lambda v: 360 + v.at_tdc + v.at_bdc,
        "From TDC to BDC the crankshaft turns 180°, not 360°.",
    ),
    Idea(
        "events-in-cam-degrees",
        lambda v: v.duration_deg / 2,
        "The card is in crank degrees, and crank degrees are asked: nothing is halved.",
    ),
    Idea(
        "early-opening-shortens",
        lambda v: 180 + abs(v.at_bdc - v.at_tdc) if v.at_tdc > 0 else None,
        "Both angles make the opening longer than a stroke; neither is taken from the other.",
    ),
    Idea(
        "event-side-ignored",
        lambda v: 180 + abs(v.at_tdc) + abs(v.at_bdc),
        "An event on the unusual side of TDC shortens the opening; its angle comes off.",
    ),
    Idea(
        "other-valve-read",
        lambda v: v.other.duration_deg,
        "These are the angles of the other valve.",
    ),
)


@family(
    "duration",
    version=1,
    topic="valves",
    title="Opening duration",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "valve"),
    asks="deg",
    key_follows="180° between the dead centres, plus the angle at TDC, plus the angle at BDC.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: a usual card. Apply: a card with an event on the other side of TDC."""
    valve = draw.choice(VALVES)
    card = usual_card(sheet, draw) if level is Level.RECALL else unusual_card(sheet, draw)
    if level is Level.APPLY:
        valve = "intake" if card.ivo_btdc < 0 else "exhaust"
    state = ValveOnCard(card, valve)
    figure = event_circle(card, span=f"{valve} duration")
    return Question(
        prompt=f"{card_words(card)} For how many crank degrees is the {valve} valve open? "
        "Give whole degrees.",
        givens={**card_givens(card), "valve": Given(valve)},
        asked=Asked("deg", "°", 0),
        steps=_steps(state),
        value=state.duration_deg,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, state),
        right_because="Half a turn, and the angles at TDC and BDC with their signs.",
        keep="event-side-ignored" if level is Level.APPLY else "",
        **pictured(circle, figure),
    )


def _steps(state: ValveOnCard) -> tuple[Step, ...]:
    at_tdc, at_bdc = state.at_tdc, state.at_bdc
    side = "outside its stroke: add them" if at_tdc >= 0 else "inside its stroke: take them off"
    return (
        Step("From dead centre to dead centre is half a turn, 180°.", 180, "°"),
        Step(f"The valve's {degrees(abs(at_tdc))} at TDC lie {side}.", at_tdc, "°"),
        Step(f"Its {degrees(at_bdc)} at BDC lie outside its stroke: add them.", at_bdc, "°"),
        Step(f"{degree_sum(180, at_tdc, at_bdc)}.", state.duration_deg, "°"),
    )
