"""Family `first-tooth`: the gap of a tone wheel and the tooth that is counted as number one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from math import radians, sin

from quizsvc.figures import tone_wheel
from quizsvc.figures.parts import clock_words
from quizsvc.figures.scene import Area, Ink, Label, Scene, at_clock
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Kind, Level, Step
from quizsvc.items.options import Wrong
from quizsvc.items.phrases import degrees
from quizsvc.items.tone_wheel import wheel_givens, wheel_words
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.sensors import ToneWheel

WHEELS = ((36, 1), (36, 2), (24, 1), (24, 2))  # gaps wide enough to point at
LETTER_OUT = 24.0  # letters outside the rim
IDEAS = {
    "gap": "gap-taken-for-wide-tooth",
    "first": "gap-read-ahead",
    "last": "gap-read-against-rotation",
    "opposite": "tooth-opposite-gap",
    "sensor": "tooth-at-sensor-first",
}
WHY = {
    "gap": "There is no tooth in the gap; counting starts after it.",
    "first": "This tooth stands; the gap is where teeth are missing.",
    "last": "This tooth passes the sensor before the gap does; number 1 comes after it.",
    "opposite": "The gap itself is the reference, not what stands opposite to it.",
    "sensor": "What stands at the sensor now is chance; the numbers go with the wheel.",
}


@dataclass(frozen=True, slots=True)
class Lettered:
    """A wheel with letters at five places around its rim."""

    view: tone_wheel.ToneWheelView
    letters: tuple[tuple[str, str], ...]  # (what stands there, letter)

    @property
    def wheel(self) -> ToneWheel:
        return ToneWheel(self.view.places, self.view.missing)

    def clock_deg(self, what: str) -> float:
        """Where a place stands, clockwise from straight up; a tooth's middle, not its edge."""
        step, turned = self.wheel.step_deg, self.view.turned_deg
        return {
            "first": turned - step / 4,
            "gap": turned + self.wheel.gap_deg / 2 - step / 4,
            "last": turned + self.wheel.gap_deg - step / 4,
            "opposite": turned + 180 + self.wheel.gap_deg / 2,
            "sensor": 0.0,
        }[what] % 360

    def letter(self, what: str) -> str:
        return dict(self.letters)[what]


def describe(state: Lettered, /) -> str:
    said = ", ".join(
        f"{letter} at {clock_words(state.clock_deg(what))}" for what, letter in _in_turn(state)
    )
    return f"{tone_wheel.describe(state.view)} Letters around the rim: {said}."


def draw(state: Lettered, /, *, solution: bool = False) -> Scene:
    scene = tone_wheel.draw(state.view, solution=solution)
    labels = []
    for what, letter in state.letters:
        x, y = at_clock(tone_wheel.CENTRE, _reach(what), state.clock_deg(what))
        labels.append(Label((x, y + 6), letter, ink=Ink.ACCENT, bold=True, halo=True))
    return replace(scene, shapes=(*scene.shapes, *labels), alt=describe(state))


def _reach(what: str) -> float:
    """The letter at the sensor stands inside the rim, where the sensor leaves room."""
    return tone_wheel.ROOT - 18 if what == "sensor" else tone_wheel.TIP + LETTER_OUT


def _in_turn(state: Lettered) -> list[tuple[str, str]]:
    return sorted(state.letters, key=lambda pair: pair[1])


@family(
    "first-tooth",
    version=1,
    topic="signals",
    title="Gap and first tooth of a tone wheel",
    levels=(Level.RECALL, Level.APPLY),
    kinds=(Kind.POINT, Kind.ONE_CHOICE),
    gives=("places", "missing"),
    asks="place on the wheel",
    key_follows="The wheel turns clockwise past the sensor: what follows the gap against the "
    "rotation is tooth 1.",
    misconceptions=tuple(IDEAS.values()),
)
def ask(_sheet: EngineSheet, draw_from: Draw, level: Level, kind: Kind) -> Question:
    """Recall: the gap. Apply: the first tooth after it."""
    wheel = ToneWheel(*draw_from.choice(WHEELS))
    state = _lettered(wheel, draw_from)
    wanted = "gap" if level is Level.RECALL else "first"
    asks = (
        "Where is the gap?"
        if wanted == "gap"
        else "Which place is tooth 1, the first to pass after the gap?"
    )
    letter = state.letter(wanted)
    point = kind is Kind.POINT
    text = _place_name if point else _at_clock
    return Question(
        prompt=f"A crankshaft carries {wheel_words(wheel)}. It turns clockwise as drawn, past the "
        f"sensor at the top. {asks}{' Point at it.' if point else ''}",
        givens=wheel_givens(wheel),
        asked=Asked("place", ""),
        steps=_steps(state, wanted),
        right=((_place_name(state, wanted), text(state, wanted)),),
        right_because=f"{letter} stands there.",
        wrong=tuple(
            Wrong(IDEAS[what], _place_name(state, what), WHY[what], text(state, what))
            for what, _ in state.letters
            if what != wanted
        ),
        places=_areas(state) if point else (),
        figure=partial(draw, state),
        solution_figure=partial(draw, state, solution=True),
        figure_alt=describe(state),
    )


def _lettered(wheel: ToneWheel, draw_from: Draw) -> Lettered:
    # Away from the top, so that neither gap nor its opposite stands at the sensor.
    turned = float(draw_from.choice((*range(45, 125, 5), *range(220, 300, 5))))
    view = tone_wheel.ToneWheelView(wheel.places, wheel.missing, turned)
    return Lettered(view, tuple(zip(draw_from.shuffled(tuple(IDEAS)), "ABCDE", strict=True)))


def _place_name(state: Lettered, what: str) -> str:
    return state.letter(what)


def _at_clock(state: Lettered, what: str) -> str:
    return f"{state.letter(what)}, at {clock_words(state.clock_deg(what))}"


def _areas(state: Lettered) -> tuple[Area, ...]:
    """A place to point at: the letter's own, with as much around it as leaves the next free."""
    room = (tone_wheel.TIP + LETTER_OUT) * sin(radians(state.wheel.gap_deg / 4))
    return tuple(
        Area(
            letter,
            at_clock(tone_wheel.CENTRE, _reach(what), state.clock_deg(what)),
            min(16.0, 0.98 * room),
        )
        for what, letter in _in_turn(state)
    )


def _steps(state: Lettered, wanted: str) -> tuple[Step, ...]:
    wheel = state.wheel
    gap = Step(
        f"The gap is the place without {wheel.missing} of {wheel.places} teeth, "
        f"{degrees(wheel.gap_deg)} wide: {state.letter('gap')}."
    )
    if wanted == "gap":
        return (gap, Step("While it passes, the signal stays without an edge."))
    return (
        gap,
        Step(
            "The wheel turns clockwise, so what stands behind the gap, anticlockwise of it, passes "
            f"next: tooth 1 is {state.letter('first')}."
        ),
    )
