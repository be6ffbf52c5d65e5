"""From a measured valve event to the teeth the camshaft is off."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    ADVANCED_RAISES,
    CARD_GIVES,
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

LIKELY_READING_ERROR_DEG = 1


@dataclass(frozen=True, slots=True)
class Measured:
    """The card, and one event as measured with a degree wheel."""

    card: ValveEvents
    event: str
    measured: float
    cam_teeth: int

    @property
    def late_deg(self) -> float:
        """Crank degrees the event comes late; negative when early."""
        shift = self.measured - event_of(self.card, self.event)
        return -ADVANCED_RAISES[self.event] * shift

    @property
    def teeth_late(self) -> int:
        return round(self.late_deg / crank_degrees_per_tooth(self.cam_teeth))


IDEAS: tuple[Idea[Measured], ...] = (
    Idea(
        "slip-wrong-way",
        lambda m: -m.teeth_late,
        "The amount is right but not the side: compare when the event comes, earlier or later.",
    ),
    Idea(
        "slip-in-cam-degrees",
        lambda m: round(2 * m.late_deg / crank_degrees_per_tooth(m.cam_teeth)),
        "This takes 360° divided by the teeth for a tooth; in crank degrees it is 720°.",
    ),
    Idea(
        "slip-at-crank-teeth",
        lambda m: _half(m.teeth_late),
        "This takes a tooth for twice as many degrees as it is.",
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda m: m.teeth_late + (1 if m.teeth_late > 0 else -1),
        "This counts the tooth at the mark as well.",
    ),
)


def _half(teeth: int) -> int | None:
    return None if teeth % 2 else teeth // 2


@family(
    "slip-from-events",
    version=1,
    topic="valves",
    title="Teeth off from a measured event",
    levels=(Level.DIAGNOSE,),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "event", "measured_deg", "cam_teeth"),
    asks="teeth_off",
    key_follows="The event's shift in crank degrees divided by 720° over the teeth, to the nearest "
    "tooth; late is retarded.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=INTERFERENCE,
)
def ask(sheet: EngineSheet, draw: Draw, _level: Level, kind: Kind) -> Question:
    teeth, event = cam_teeth(sheet, draw), draw.choice(EVENTS)
    card = usual_card(sheet, draw)
    late = draw.integer(1, 3) * draw.choice((1, -1)) * crank_degrees_per_tooth(teeth)
    error = draw.integer(-LIKELY_READING_ERROR_DEG, LIKELY_READING_ERROR_DEG)
    measured = round(event_of(card, event) - ADVANCED_RAISES[event] * late) + error
    state = Measured(card, event, float(measured), teeth)
    if not -60 < measured < 110:
        raise Redraw
    figure = event_circle(card, note="The events on the card.")
    cam = "intake" if event.startswith("i") else "exhaust"
    choose = kind is Kind.ONE_CHOICE
    return Question(
        prompt=f"{card_words(card)} A degree wheel shows “{EVENT_TITLES[event]}” "
        f"{event_words(event, state.measured)}, read to about a degree. The {cam} camshaft "
        f"{words_of_sheet(sheet).wheel} has {teeth} teeth. {_asks(choose=choose)}",
        givens={
            **card_givens(card),
            "event": Given(event),
            "measured_deg": Given(state.measured, "°"),
            "cam_teeth": Given(teeth, "teeth"),
        },
        asked=Asked("teeth_off", ""),
        steps=_steps(state),
        value=state.teeth_late,
        wrong=wrong_answers(IDEAS, state, _verdict),
        right=((state.teeth_late, _verdict(state.teeth_late)),) if choose else (),
        right_because="The shift in crank degrees, counted in teeth of 720° over their number.",
        **pictured(circle, figure),
    )


def _asks(*, choose: bool) -> str:
    if choose:
        return "How does this camshaft stand?"
    return "By how many whole teeth is it off? Retarded counts plus, advanced minus."


def _verdict(teeth_late: object) -> str:
    if not isinstance(teeth_late, int) or teeth_late == 0:
        return "in time"
    return f"{counted(abs(teeth_late), 'tooth', 'teeth')} " + (
        "retarded" if teeth_late > 0 else "advanced"
    )


def _steps(state: Measured) -> tuple[Step, ...]:
    per_tooth = round(crank_degrees_per_tooth(state.cam_teeth), 2)
    late = state.late_deg > 0
    shift, when = abs(state.late_deg), "later" if late else "earlier"
    on_card = event_words(state.event, event_of(state.card, state.event))
    return (
        Step(
            f"On the card {on_card}, measured {event_words(state.event, state.measured)}: "
            f"{degrees(shift)} {when}.",
            shift,
            "°",
        ),
        Step(
            f"One tooth: 720° / {state.cam_teeth} = {degrees(per_tooth)} of crankshaft.",
            per_tooth,
            "°",
        ),
        Step(
            f"{degrees(shift)} / {degrees(per_tooth)} = {shift / per_tooth:.2f}, nearest to "
            f"{counted(abs(state.teeth_late), 'tooth', 'teeth')}; {when} is "
            f"{'retarded' if late else 'advanced'}.",
            state.teeth_late,
            "teeth",
        ),
    )
