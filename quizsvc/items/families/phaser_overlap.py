"""Overlap with the cam phasers moved."""

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
from quizsvc.items.phrases import plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.valves import ValveEvents

MOST_OVERLAP_DEG = 85
USUAL_RANGE_DEG = 40.0  # of a phaser, where the sheet has none


@dataclass(frozen=True, slots=True)
class Phased:
    """A card with the phasers parked, and how far they have moved."""

    card: ValveEvents
    intake_ahead_deg: float
    exhaust_late_deg: float = 0.0

    @property
    def moved(self) -> ValveEvents:
        return self.card.advanced(self.intake_ahead_deg, exhaust=False).advanced(
            -self.exhaust_late_deg, intake=False
        )

    @property
    def both_deg(self) -> float:
        return self.intake_ahead_deg + self.exhaust_late_deg


IDEAS: tuple[Idea[Phased], ...] = (
    Idea(
        "phaser-in-cam-degrees",
        lambda p: p.card.overlap_deg + p.both_deg / 2,
        "The phaser angle is given in crank degrees already; it is not halved.",
    ),
    Idea(
        "phaser-retards-intake",
        lambda p: p.card.overlap_deg - p.intake_ahead_deg + p.exhaust_late_deg,
        "An earlier intake opening makes the overlap longer, not shorter.",
    ),
    Idea(
        "phaser-shifts-both-ends",
        lambda p: p.card.overlap_deg + 2 * p.both_deg,
        "A phaser moves one camshaft, and with it one end of the overlap.",
    ),
    Idea(
        "slip-not-applied",
        lambda p: p.card.overlap_deg,
        "This is the overlap with the phaser parked.",
    ),
    Idea(
        "phaser-exhaust-wrong-way",
        lambda p: (
            p.card.overlap_deg + p.intake_ahead_deg - p.exhaust_late_deg
            if p.exhaust_late_deg
            else None
        ),
        "A later exhaust closing makes the overlap longer as well.",
    ),
    Idea(
        "overlap-at-bottom",
        lambda p: p.moved.ivc_abdc + p.moved.evo_bbdc,
        "These are the angles at BDC; the valves overlap at exhaust TDC.",
    ),
)


@family(
    "phaser-overlap",
    version=1,
    topic="valves",
    title="Overlap with the phasers moved",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "intake_advanced_deg", "exhaust_retarded_deg"),
    asks="deg",
    key_follows="Parked overlap plus the intake's advance plus the exhaust's retard.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: the intake phaser only. Diagnose: the exhaust is retarded at the same time."""
    reach = sheet.valves.phaser_range_deg or USUAL_RANGE_DEG
    ahead = draw.step(6, max(reach, 10), 2)
    late = draw.step(4, 16, 2) if level is Level.DIAGNOSE else 0.0
    card = unusual_card(sheet, draw) if draw.chance(0.4) else usual_card(sheet, draw)
    state = Phased(card, ahead, late)
    if state.moved.overlap_deg > MOST_OVERLAP_DEG:
        raise Redraw
    parked = event_circle(card, note="The events with the phasers parked.")
    moved = event_circle(state.moved, span="overlap", note="The events with the phasers moved.")
    return Question(
        prompt=f"{card_words(card)} This holds with the phasers parked. {_moves(state)} How large "
        "is the overlap now, in whole crank degrees?",
        givens={
            **card_givens(card),
            "intake_advanced_deg": Given(ahead, "°"),
            **({"exhaust_retarded_deg": Given(late, "°")} if late else {}),
        },
        asked=Asked("deg", "°", 0),
        steps=_steps(state),
        value=state.moved.overlap_deg,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, state),
        right_because="Earlier intake opening and later exhaust closing both lengthen the overlap.",
        **pictured(circle, parked, moved),
    )


def _moves(state: Phased) -> str:
    said = f"The intake phaser now advances its camshaft by {plain(state.intake_ahead_deg)}"
    if state.exhaust_late_deg:
        said += f", and the exhaust phaser retards the other by {plain(state.exhaust_late_deg)}"
    return f"{said} crank degrees."


def _steps(state: Phased) -> tuple[Step, ...]:
    card, moved = state.card, state.moved
    late = "unmoved" if not state.exhaust_late_deg else "retarded"
    return (
        Step(
            "Intake opening before TDC, advanced: "
            f"{degree_sum(card.ivo_btdc, state.intake_ahead_deg)}.",
            moved.ivo_btdc,
            "°",
        ),
        Step(
            f"Exhaust closing after TDC, {late}: "
            f"{degree_sum(card.evc_atdc, state.exhaust_late_deg)}.",
            moved.evc_atdc,
            "°",
        ),
        Step(
            f"Overlap: {degree_sum(moved.ivo_btdc, moved.evc_atdc)}.",
            moved.overlap_deg,
            "°",
        ),
    )
