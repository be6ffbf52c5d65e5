"""What becomes of a valve event when the cam sprocket is off by teeth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    ADVANCED_RAISES,
    CARD_GIVES,
    EVENT_SIDES,
    EVENT_TITLES,
    EVENTS,
    cam_teeth,
    card_givens,
    card_words,
    event_circle,
    event_of,
    event_words,
    usual_card,
)
from quizsvc.items.cautions import INTERFERENCE
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import counted, degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import crank_degrees_per_tooth
from quizsvc.timing.valves import ValveEvents

FURTHEST_DEG = 60  # further out the engine would not have turned over at all
Direction = Literal["advanced", "retarded"]


@dataclass(frozen=True, slots=True)
class Slipped:
    """A card, the event asked about, and how far its camshaft has slipped."""

    card: ValveEvents
    event: str
    teeth_off: int
    direction: Direction
    cam_teeth: int

    @property
    def ahead_deg(self) -> float:
        """Crank degrees the camshaft is ahead; negative when it is retarded."""
        turned = self.teeth_off * crank_degrees_per_tooth(self.cam_teeth)
        return turned if self.direction == "advanced" else -turned

    @property
    def moved(self) -> ValveEvents:
        intake = self.event.startswith("i")
        return self.card.advanced(self.ahead_deg, intake=intake, exhaust=not intake)

    @property
    def new_event(self) -> float:
        return event_of(self.moved, self.event)

    def shifted(self, part: float) -> float:
        """The event with a part of the true shift."""
        before = event_of(self.card, self.event)
        return before + part * (self.new_event - before)


IDEAS: tuple[Idea[Slipped], ...] = (
    Idea(
        "slip-in-cam-degrees",
        lambda s: s.shifted(0.5),
        "This shifts by cam degrees; the crankshaft turns twice as far.",
    ),
    Idea(
        "slip-at-crank-teeth",
        lambda s: s.shifted(2),
        "This doubles the shift again; 720° divided by the cam wheel's teeth is a tooth.",
    ),
    Idea(
        "slip-wrong-way",
        lambda s: s.shifted(-1) if ADVANCED_RAISES[s.event] > 0 else None,
        "This moves the event the wrong way: advanced is earlier, retarded is later.",
    ),
    Idea(
        "slip-sign-alike",
        lambda s: s.shifted(-1) if ADVANCED_RAISES[s.event] < 0 else None,
        "A closing angle counts after the dead centre: earlier makes it smaller, later larger.",
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda s: s.shifted((s.teeth_off + 1) / s.teeth_off),
        "This is one tooth too many: the tooth at the mark counts as nought.",
    ),
    Idea(
        "event-side-ignored",
        lambda s: abs(s.new_event) if s.new_event < 0 else None,
        "The event has crossed its dead centre, so it now counts as negative.",
    ),
)


@family(
    "events-after-slip",
    version=1,
    topic="valves",
    title="Valve event after a slipped chain or belt",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "event", "teeth_off", "direction", "cam_teeth"),
    asks="the new event in deg",
    key_follows="Each tooth is 720° divided by the cam wheel's teeth; earlier raises the angles "
    "before a dead centre and lowers those after it.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=INTERFERENCE,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: the direction is stated. Diagnose: only where the mark stands is."""
    state = Slipped(
        usual_card(sheet, draw),
        draw.choice(EVENTS),
        draw.integer(1, 3),
        draw.choice(("advanced", "retarded")),
        cam_teeth(sheet, draw),
    )
    if abs(state.ahead_deg) > FURTHEST_DEG:
        raise Redraw
    usual, other = EVENT_SIDES[state.event]
    wheel = words_of_sheet(sheet).wheel
    before = event_circle(state.card, note="The events with all marks in line.")
    after = event_circle(state.moved, note="The events with the camshaft off.")
    return Question(
        prompt=f"{card_words(state.card)} {_slip_words(state, level, wheel)} At how many degrees "
        f"{usual} does “{EVENT_TITLES[state.event]}” come now? Give one decimal; a minus "
        f"means {other}.",
        givens={
            **card_givens(state.card),
            "event": Given(state.event),
            "teeth_off": Given(state.teeth_off, "teeth"),
            "direction": Given(state.direction),
            "cam_teeth": Given(state.cam_teeth, "teeth"),
        },
        asked=Asked(state.event, "°", 1),
        steps=_steps(state),
        value=state.new_event,
        tolerance=0.2,
        wrong=wrong_answers(IDEAS, state),
        right_because=f"A tooth of the cam {wheel} in crank degrees, to the right side.",
        **pictured(circle, before, after),
    )


def _slip_words(state: Slipped, level: Level, wheel: str) -> str:
    cam = "intake" if state.event.startswith("i") else "exhaust"
    teeth = counted(state.teeth_off, "tooth", "teeth")
    if level is Level.APPLY:
        return (
            f"The {cam} camshaft ({wheel} with {state.cam_teeth} teeth) is {state.direction} by "
            f"{teeth}."
        )
    stands = (
        "has not yet reached its pointer"
        if state.direction == "retarded"
        else "is already past its pointer"
    )
    return (
        f"With the crankshaft on its mark, the mark of the {cam} camshaft {wheel} "
        f"({state.cam_teeth} teeth) {stands}, in running direction, by {teeth}."
    )


def _steps(state: Slipped) -> tuple[Step, ...]:
    per_tooth = round(crank_degrees_per_tooth(state.cam_teeth), 2)
    before, after = event_of(state.card, state.event), round(state.new_event, 1)
    turned = round(abs(state.ahead_deg), 2)
    when = "earlier" if state.direction == "advanced" else "later"
    usual = EVENT_SIDES[state.event][0]
    larger = after > before
    return (
        Step(
            f"One tooth: 720° / {state.cam_teeth} = {degrees(per_tooth)} of crankshaft.",
            per_tooth,
            "°",
        ),
        Step(
            f"{counted(state.teeth_off, 'tooth', 'teeth')} {state.direction}: "
            f"{degrees(turned)} {when}.",
            turned,
            "°",
        ),
        Step(
            f"{when.capitalize()} makes an angle {usual} {'larger' if larger else 'smaller'}: "
            f"{degrees(before)} {'+' if larger else '−'} {degrees(turned)} ≈ {degrees(after)}, "
            f"that is {event_words(state.event, after)}.",
            after,
            "°",
        ),
    )
