"""Family `bench-valve-event`: turn the crankshaft to where a valve opens or closes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import EVENT_SIDES, EVENT_TITLES, EVENTS
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, engine_of
from quizsvc.items.family import family
from quizsvc.items.model import Asked, BenchStart, BenchTask, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import degrees
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import events_of
from quizsvc.timing.valves import ValveEvents

ASKED = Asked("crank_deg", "°", 0)
TOLERANCE_DEG = 2.0
# Dead centre on the cylinder's own scale, and whether the event counts after it.
_FROM = {"ivo_btdc": (360, -1), "ivc_abdc": (540, 1), "evo_bbdc": (180, -1), "evc_atdc": (360, 1)}


@dataclass(frozen=True, slots=True)
class Event:
    """A valve event of one cylinder, as a crank angle."""

    engine: Engine
    cylinder: int
    name: str
    stated_deg: float

    @property
    def firing_deg(self) -> float:
        return self.engine.firing_deg[self.cylinder]

    def own_deg(self, sign: int = 1) -> float:
        """On the cylinder's own scale; a negative ``sign`` counts on the wrong side."""
        centre, side = _FROM[self.name]
        return centre + side * sign * self.stated_deg

    @property
    def crank_deg(self) -> float:
        return (self.firing_deg + self.own_deg()) % 720


IDEAS: tuple[Idea[Event], ...] = (
    Idea(
        "cylinder-one-for-all",
        lambda e: e.own_deg() % 720,
        "That is where the valve of cylinder 1 does so.",
    ),
    Idea(
        "firing-for-exhaust-tdc",
        lambda e: (e.crank_deg + 360) % 720,
        "That is one whole turn out.",
    ),
    Idea(
        "order-read-backwards",
        lambda e: (e.own_deg() - e.firing_deg) % 720,
        "That takes the firing angle off; a cylinder that fires later is behind, so add it.",
    ),
    Idea(
        "before-for-after",
        lambda e: (e.firing_deg + e.own_deg(-1)) % 720,
        "That counts on the other side of the dead centre.",
    ),
    Idea(
        "bottom-for-top",
        lambda e: (e.crank_deg + 180) % 720,
        "That counts from the wrong dead centre.",
    ),
)


@family(
    "bench-valve-event",
    version=1,
    topic="valves",
    title="Turn to a valve event",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.BENCH,),
    gives=("firing_order", "intervals", "cylinder", "event_deg"),
    asks="crank_deg",
    key_follows="The event on the cylinder's own scale, plus the cylinder's firing angle.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.TURNING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    event = _drawn(sheet, draw, level)
    engine = event.engine
    value = event.crank_deg
    start = float(5 * draw.integer(0, 143))
    if abs((start - value + 360) % 720 - 360) < 20:
        raise Redraw
    picture = cylinders_at(sheet, engine, start)
    solved = cylinders_at(sheet, engine, value, shown=True)
    card = f"{degrees(abs(event.stated_deg))} {EVENT_SIDES[event.name][event.stated_deg < 0]}"
    valve, does = EVENT_TITLES[event.name].split(" ")
    return Question(
        prompt=(
            f"{engine.begins} By the cam card the {valve} valves {_plural(does)} {card}. On the "
            f"bench the crankshaft stands {degrees(start)} after firing TDC of cylinder 1. Turn it "
            f"to where the {valve} valve of cylinder {event.cylinder} {does}. A place within "
            f"{degrees(TOLERANCE_DEG)} of crank rotation is near enough; answers are read to the "
            "nearest whole number of degrees."
        ),
        givens={
            **engine.givens(),
            "cylinder": Given(event.cylinder),
            event.name: Given(event.stated_deg, "°"),
        },
        asked=ASKED,
        steps=_steps(event, card, does),
        value=value,
        tolerance=TOLERANCE_DEG,
        wrong=wrong_answers(IDEAS, event),
        right_because="The event's place in the cycle, shifted by the cylinder's firing angle.",
        bench=BenchStart(BenchTask.TURN, start),
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(cylinder_phases.draw, solved.state, solution=True),
        figure_alt=picture.alt,
        reference="engine texts: cycle from firing TDC, 720° for all cylinders",
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Event:
    """Apply asks where an intake valve closes, diagnose about the other events."""
    events: ValveEvents = events_of(sheet)
    others = [name for name in EVENTS if name != "ivc_abdc"]
    name = "ivc_abdc" if level is Level.APPLY else draw.choice(others)
    engine = engine_of(sheet)
    cylinder = draw.choice([c for c in engine.order if c != 1])
    return Event(engine, cylinder, name, getattr(events, name))


def _plural(does: str) -> str:
    return does.removesuffix("s")


def _steps(event: Event, card: str, does: str) -> tuple[Step, ...]:
    own, firing, value = event.own_deg(), event.firing_deg, event.crank_deg
    centre = _FROM[event.name][0]
    total = own + firing
    wrapped = f", less 720° = {degrees(value)}" if total >= 720 else ""
    place = {180: "BDC after power", 360: "exhaust TDC", 540: "BDC after intake"}[centre]
    return (
        Step(
            f"From a cylinder's own firing TDC, {place} comes at {degrees(centre)}; the valve "
            f"{does} {card}: {degrees(own)}.",
            own,
            "°",
        ),
        Step(f"Cylinder {event.cylinder} fires {degrees(firing)} after cylinder 1.", firing, "°"),
        Step(f"{degrees(own)} + {degrees(firing)} = {degrees(total)}{wrapped}.", value, "°"),
    )
