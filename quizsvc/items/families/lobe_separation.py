"""Lobe separation angle from the cam card."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    CARD_GIVES,
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
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.valves import ValveEvents


@dataclass(frozen=True, slots=True)
class Lobes:
    """Both lobes of a card, and by how much their shaft is turned ahead (nought: not at all)."""

    card: ValveEvents
    advanced_deg: float = 0.0

    @property
    def intake(self) -> float:
        return self.card.intake_lobe_centre_atdc

    @property
    def exhaust(self) -> float:
        return self.card.exhaust_lobe_centre_btdc

    @property
    def separation(self) -> float:
        return self.card.advanced(self.advanced_deg).lobe_separation_cam_deg


def _if_turned(value: float, state: Lobes) -> float | None:
    return value if state.advanced_deg else None


IDEAS: tuple[Idea[Lobes], ...] = (
    Idea(
        "separation-in-crank-degrees",
        lambda s: s.intake + s.exhaust,
        "This is the distance in crank degrees; on the camshaft it is half of that.",
    ),
    Idea(
        "separation-as-one-centre",
        lambda s: s.intake,
        "This is the intake lobe centre; the exhaust lobe is on the other side of TDC.",
    ),
    Idea(
        "separation-without-overlap",
        lambda s: (s.card.intake_duration_deg + s.card.exhaust_duration_deg) / 4,
        "A quarter of both durations leaves out that half the overlap comes off.",
    ),
    Idea(
        "lobe-centre-angle-added",
        lambda s: s.separation + s.card.overlap_deg,
        "The angles at TDC come off half the durations; they are not put on.",
    ),
    Idea(
        "advance-moves-separation",
        lambda s: _if_turned(s.separation - s.advanced_deg / 2, s),
        "Both lobes turn together with their shaft, so their distance stays.",
    ),
)


@family(
    "lobe-separation",
    version=1,
    topic="valves",
    title="Lobe separation",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "advanced_deg"),
    asks="deg",
    key_follows="The mean of the two lobe centres: their crank degrees added and halved.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Recall: a usual card. Apply: an event beyond TDC. Diagnose: the shaft is then advanced."""
    card = unusual_card(sheet, draw) if level is Level.APPLY else usual_card(sheet, draw)
    if (card.ivc_abdc - card.ivo_btdc + card.evo_bbdc - card.evc_atdc) % 2:
        raise Redraw  # would end in a quarter degree
    turned = float(2 * draw.integer(2, 6)) if level is Level.DIAGNOSE else 0.0
    state = Lobes(card, turned)
    figure = event_circle(card)
    return Question(
        prompt=f"{card_words(card)} Both lobes sit on one camshaft. {_asks(turned)}",
        givens={**card_givens(card), **_more(turned)},
        asked=Asked("deg", "°", 1),
        steps=_steps(state),
        value=state.separation,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, state),
        right_because="Half the crank degrees from lobe centre to lobe centre.",
        keep="advance-moves-separation" if turned else "",
        **pictured(circle, figure),
    )


def _asks(turned: float) -> str:
    asked = "What is the lobe separation in cam degrees, to one decimal?"
    if not turned:
        return asked
    return (
        f"The camshaft is then advanced by {degrees(turned)} of crankshaft. "
        f"{asked.replace('separation', 'separation now')}"
    )


def _more(turned: float) -> dict[str, Given]:
    return {"advanced_deg": Given(turned, "°")} if turned else {}


def _steps(state: Lobes) -> tuple[Step, ...]:
    intake, exhaust, card = state.intake, state.exhaust, state.card
    said = (
        Step(
            "Intake lobe centre, half its duration less the opening angle: "
            f"{degree_sum(card.intake_duration_deg / 2, -card.ivo_btdc)} after TDC.",
            intake,
            "°",
        ),
        Step(
            "Exhaust lobe centre, half its duration less the closing angle: "
            f"{degree_sum(card.exhaust_duration_deg / 2, -card.evc_atdc)} before TDC.",
            exhaust,
            "°",
        ),
        Step(
            "They are "
            f"{degree_sum(intake, exhaust)} of crankshaft apart; the camshaft turns half as far: "
            f"{degrees(state.separation)}.",
            state.separation,
            "°",
        ),
    )
    if not state.advanced_deg:
        return said
    turned = degrees(state.advanced_deg)
    return (
        *said,
        Step(
            f"Advancing takes {turned} off the intake centre and puts {turned} on the exhaust "
            f"centre: the separation stays {degrees(state.separation)}.",
            state.separation,
            "°",
        ),
    )
