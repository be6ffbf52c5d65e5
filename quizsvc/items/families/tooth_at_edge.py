"""Family `tooth-at-edge`: from a tooth of the crank wheel to the crank angle, and back."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import tone_wheel
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees
from quizsvc.items.picture import pictured
from quizsvc.items.tone_wheel import a_wheel, wheel_givens, wheel_words
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.sensors import ToneWheel


@dataclass(frozen=True, slots=True)
class Edge:
    """A tooth of a crank wheel, numbered from the first after the gap."""

    wheel: ToneWheel
    tooth: int

    @property
    def crank_deg(self) -> float:
        return self.wheel.edge_deg(self.tooth) % 360

    @property
    def past_first_deg(self) -> float:
        return (self.tooth - 1) * self.wheel.step_deg


def _turned(value: float) -> float:
    return round(value, 6) % 360


ANGLES: tuple[Idea[Edge], ...] = (
    Idea(
        "first-tooth-counted-as-step",
        lambda e: _turned(e.crank_deg + e.wheel.step_deg),
        "The first tooth is number 1 at no steps; tooth n is n − 1 steps on.",
    ),
    Idea(
        "missing-teeth-spread-out",
        lambda e: _turned(e.wheel.first_edge_deg + (e.tooth - 1) * 360 / e.wheel.teeth),
        "The turn is divided by the places, not by the teeth that are left.",
    ),
    Idea(
        "edge-offset-forgotten",
        lambda e: _turned(e.past_first_deg),
        "The first tooth after the gap is not at TDC here; its angle is added.",
    ),
    Idea(
        "edge-offset-taken-off",
        lambda e: _turned(e.past_first_deg - e.wheel.first_edge_deg),
        "Teeth that pass later stand at a larger angle: the first tooth's angle is added.",
    ),
    Idea(
        "gap-counted-again",
        lambda e: _turned(e.crank_deg + e.wheel.missing * e.wheel.step_deg),
        "Counting starts after the gap, so the missing places are not passed.",
    ),
)
TEETH: tuple[Idea[Edge], ...] = (
    Idea(
        "first-tooth-counted-as-step",
        lambda e: e.tooth - 1,
        "So many steps on from the first tooth it is one number more: the first is number 1.",
    ),
    Idea(
        "edge-offset-forgotten",
        lambda e: _numbered(e, e.crank_deg),
        "The first tooth after the gap is not at TDC here; its angle comes off first.",
    ),
    Idea(
        "missing-teeth-spread-out",
        lambda e: round(e.past_first_deg * e.wheel.teeth / 360) + 1,
        "The turn is divided by the places, not by the teeth that are left.",
    ),
    Idea(
        "gap-counted-again",
        lambda e: e.tooth + e.wheel.missing,
        "Counting starts after the gap, so the missing places are not passed.",
    ),
    Idea(
        "step-after-tooth-counted",
        lambda e: e.tooth + 1,
        "This counts the first tooth twice.",
    ),
)


def _numbered(edge: Edge, deg: float) -> int | None:
    tooth = round(deg / edge.wheel.step_deg) + 1
    return tooth if 1 <= tooth <= edge.wheel.teeth else None


@family(
    "tooth-at-edge",
    version=1,
    topic="signals",
    title="Crank angle of a wheel tooth",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("places", "missing", "first_edge_deg", "tooth", "crank_deg"),
    asks="crank_deg or tooth",
    key_follows="The first tooth's angle plus one step less than the tooth's number; back by the "
    "same way.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*ANGLES, *TEETH))),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: the angle of a tooth. Diagnose: which tooth an angle belongs to."""
    places, missing = a_wheel(sheet, draw)
    step = 360 / places
    stated = [w.first_edge_deg for w in sheet.sensors if w.places == places and w.missing]
    first = round(draw.choice(stated) if stated else step * draw.integer(3, places // 3), 6)
    wheel = ToneWheel(places, missing, first)
    edge = Edge(wheel, draw.integer(2, wheel.teeth))
    if level is Level.DIAGNOSE:
        return _which_tooth(edge, choose=kind is Kind.ONE_CHOICE)
    value = round(edge.crank_deg, 1)
    return Question(
        prompt=f"{_begins(edge)} At how many crank degrees after TDC of cylinder 1 (0 to 360) does "
        f"tooth {edge.tooth} pass? {answer_in('degrees', 1)}",
        givens={**_givens(edge), "tooth": Given(edge.tooth)},
        asked=Asked("crank_deg", "°", 1),
        steps=_steps(edge),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(ANGLES, edge),
        right_because="One step less than its number, from the first tooth on.",
        **pictured(tone_wheel, _view(edge), _view(edge, turned=True)),
    )


def _which_tooth(edge: Edge, *, choose: bool) -> Question:
    crank = round(edge.crank_deg, 2)
    wheel = edge.wheel
    first = round(wheel.first_edge_deg, 2)
    steps = round(edge.past_first_deg / wheel.step_deg)
    return Question(
        prompt=f"{_begins(edge)} A fault shows at {degrees(crank)} after TDC of cylinder 1, where "
        "a tooth edge passes. Which tooth, by its number, is to be looked at?",
        givens={**_givens(edge), "crank_deg": Given(crank, "°")},
        asked=Asked("tooth", ""),
        steps=(
            Step(f"One step: 360° / {wheel.places} = {degrees(round(wheel.step_deg, 3))}.",
                 round(wheel.step_deg, 3), "°"),
            Step(
                f"Past the first tooth: {degrees(crank)} − {degrees(first)}"
                f"{' + 360°' if crank < first else ''} = "
                f"{degrees(round(edge.past_first_deg, 2))}, that is {steps} steps.",
                steps,
            ),
            Step(f"{steps} steps after number 1: tooth {edge.tooth}.", edge.tooth),
        ),
        value=edge.tooth,
        right=((edge.tooth, _tooth_words(edge.tooth)),) if choose else (),
        wrong=wrong_answers(TEETH, edge, _tooth_words),
        right_because="Steps past the first tooth, plus one.",
        **pictured(tone_wheel, _view(edge), _view(edge, turned=True)),
    )  # fmt: skip


def _view(edge: Edge, *, turned: bool = False) -> tone_wheel.ToneWheelView:
    """The wheel with tooth 1 at the sensor, or turned on until the tooth in question is there."""
    wheel = edge.wheel
    if not turned:
        return tone_wheel.ToneWheelView(
            wheel.places, wheel.missing, note="Tooth 1 is just meeting the sensor."
        )
    return tone_wheel.ToneWheelView(
        wheel.places,
        wheel.missing,
        edge.past_first_deg,
        asked="tooth",
        answer=str(edge.tooth),
        note=f"At {degrees(round(edge.crank_deg, 1))} tooth {edge.tooth} meets the sensor.",
    )


def _tooth_words(tooth: object) -> str:
    return f"tooth {tooth}"


def _begins(edge: Edge) -> str:
    wheel, first = edge.wheel, degrees(round(edge.wheel.first_edge_deg, 2))
    return (
        f"The crankshaft carries {wheel_words(wheel)}. Teeth are numbered as they pass the sensor, "
        f"1 being the first after the gap; its edge passes {first} after TDC of cylinder 1."
    )


def _givens(edge: Edge) -> dict[str, Given]:
    return {
        **wheel_givens(edge.wheel),
        "first_edge_deg": Given(round(edge.wheel.first_edge_deg, 2), "°"),
    }


def _steps(edge: Edge) -> tuple[Step, ...]:
    wheel, past = edge.wheel, round(edge.past_first_deg, 2)
    step, first = round(wheel.step_deg, 3), round(wheel.first_edge_deg, 2)
    total, value = round(first + past, 2), round(edge.crank_deg, 1)
    off = " Less a whole turn: " + degrees(value) + "." if total >= 360 else ""
    return (
        Step(f"One step: 360° / {wheel.places} = {degrees(step)}.", step, "°"),
        Step(
            f"Tooth {edge.tooth} is {edge.tooth - 1} steps after tooth 1: {edge.tooth - 1} × "
            f"{degrees(step)} = {degrees(past)}.",
            past,
            "°",
        ),
        Step(f"{degrees(first)} + {degrees(past)} = {degrees(total)}.{off}", value, "°"),
    )
