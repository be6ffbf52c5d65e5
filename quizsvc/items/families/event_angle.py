"""Valve events on the 720° scale of their cylinder."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import event_circle as circle
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import (
    CARD_GIVES,
    EVENT_TITLES,
    EVENTS,
    card_givens,
    card_words,
    degree_sum,
    event_circle,
    event_of,
    event_words,
    unusual_card,
    usual_card,
)
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, Wrong, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.valves import ValveEvents

# Dead centre each event is counted from, on the cylinder's own scale, and the way it counts.
FROM = {"evo_bbdc": (180, -1), "ivo_btdc": (360, -1), "evc_atdc": (360, 1), "ivc_abdc": (540, 1)}
DEAD_CENTRES = {180: "BDC after the power stroke", 360: "exhaust TDC", 540: "BDC after the intake"}


@dataclass(frozen=True, slots=True)
class EventOnCycle:
    card: ValveEvents
    event: str

    @property
    def stated(self) -> float:
        return event_of(self.card, self.event)

    @property
    def own_deg(self) -> float:
        return {
            "ivo_btdc": self.card.intake_open_deg,
            "ivc_abdc": self.card.intake_close_deg,
            "evo_bbdc": self.card.exhaust_open_deg,
            "evc_atdc": self.card.exhaust_close_deg,
        }[self.event]


def _mirrored(state: EventOnCycle) -> float:
    centre, way = FROM[state.event]
    return (centre - way * state.stated) % 720


IDEAS: tuple[Idea[EventOnCycle], ...] = (
    Idea(
        "firing-tdc-for-exhaust-tdc",
        lambda s: (s.own_deg + 360) % 720,
        "This is a whole turn off: it takes the other dead centre of the same name.",
    ),
    Idea(
        "before-after-swapped",
        _mirrored,
        "Before a dead centre is less than its angle on the scale, after it is more.",
    ),
    Idea(
        "event-at-wrong-dead-centre",
        lambda s: (s.own_deg + 180) % 720,
        "This counts from the dead centre half a turn later.",
    ),
    Idea(
        "events-in-cam-degrees",
        lambda s: s.own_deg / 2,
        "The scale of 720° is in crank degrees; nothing is halved.",
    ),
)


@family(
    "event-angle",
    version=1,
    topic="valves",
    title="Valve events over the cycle",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE, Kind.MATCH),
    gives=(*CARD_GIVES, "event"),
    asks="crank_deg",
    key_follows="The dead centre's place on the cycle, less an angle before it or plus one after.",
    misconceptions=(*(idea.misconception for idea in IDEAS), "exhaust-shut-before-intake"),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: a usual card. Apply: a card with an event on the other side of TDC."""
    card = usual_card(sheet, draw) if level is Level.RECALL else unusual_card(sheet, draw)
    if kind is Kind.MATCH:
        return _match(card)
    event = draw.choice(EVENTS)
    if level is Level.APPLY:
        event = "ivo_btdc" if card.ivo_btdc < 0 else "evc_atdc"
    state = EventOnCycle(card, event)
    figure = event_circle(card)
    return Question(
        prompt=f"{card_words(card)} On a scale of 0 to 720 crank degrees, 0 being this cylinder's "
        f"firing TDC: at which angle does “{EVENT_TITLES[event]}” come? Give whole degrees.",
        givens={**card_givens(card), "event": Given(event)},
        asked=Asked("crank_deg", "°", 0),
        steps=_steps(state),
        value=state.own_deg,
        tolerance=0.5,
        wrong=wrong_answers(IDEAS, state),
        right_because="Counted from its own dead centre, to the right side.",
        keep="before-after-swapped" if level is Level.APPLY else "",
        **pictured(circle, figure),
    )


def _match(card: ValveEvents) -> Question:
    states = [EventOnCycle(card, event) for event in EVENTS]
    texts = [degrees(state.own_deg) for state in states]
    spare = degrees((card.intake_open_deg + 360) % 720)
    if len({*texts, spare}) < len(texts) + 1:
        raise Redraw
    figure = event_circle(card)
    return Question(
        prompt=f"{card_words(card)} On a scale of 0 to 720 crank degrees, 0 being this cylinder's "
        "firing TDC: which event comes at which angle? One angle is left over.",
        givens=card_givens(card),
        asked=Asked("crank_deg", "°", 0),
        steps=tuple(step for state in states for step in _steps(state)[-1:]),
        pairs=tuple(
            (EVENT_TITLES[state.event].capitalize(), text)
            for state, text in zip(states, texts, strict=True)
        ),
        spare_right=(spare,),
        wrong=_swapped(texts, spare),
        right_because="Each event counted from its own dead centre.",
        **pictured(circle, figure),
    )


def _swapped(texts: list[str], spare: str) -> tuple[Wrong, ...]:
    """What the wrong ideas make of the whole match."""
    opens, closes, exhaust_opens, exhaust_closes = texts
    return (
        Wrong(
            "firing-tdc-for-exhaust-tdc",
            (spare, closes, exhaust_opens, exhaust_closes),
            "The intake valve opens at exhaust TDC, not a turn later at firing TDC.",
        ),
        Wrong(
            "exhaust-shut-before-intake",
            (exhaust_closes, closes, exhaust_opens, opens),
            "Intake opening and exhaust closing are swapped around exhaust TDC.",
        ),
        Wrong(
            "event-at-wrong-dead-centre",
            (opens, exhaust_opens, closes, exhaust_closes),
            "The exhaust opens around the first BDC, the intake closes around the second.",
        ),
    )


def _steps(state: EventOnCycle) -> tuple[Step, ...]:
    centre, way = FROM[state.event]
    title = EVENT_TITLES[state.event].capitalize()
    said = event_words(state.event, state.stated)
    return (
        Step(f"{title} belongs to {DEAD_CENTRES[centre]}, at {centre}°.", centre, "°"),
        Step(f"{title} {said}: {degree_sum(centre, way * state.stated)}.", state.own_deg, "°"),
    )
