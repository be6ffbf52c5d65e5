"""Family `correlation`: a cam edge held against the teeth of the crank wheel."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import tone_wheel
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import cam_teeth
from quizsvc.items.cautions import FIRST, INTERFERENCE
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, counted, degrees
from quizsvc.items.picture import Pictured, pictured
from quizsvc.items.tone_wheel import a_wheel, wheel_givens, wheel_words
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import crank_degrees_per_tooth
from quizsvc.timing.sensors import ToneWheel, correlation_error_deg, teeth_of_error


@dataclass(frozen=True, slots=True)
class Correlation:
    """At which tooth of the crank wheel a cam edge is specified, and at which it comes."""

    wheel: ToneWheel
    specified: int
    measured: int
    cam_teeth: int

    @property
    def teeth_apart(self) -> int:
        return self.measured - self.specified

    @property
    def late_deg(self) -> float:
        edges = self.wheel.edge_deg(self.specified), self.wheel.edge_deg(self.measured)
        return correlation_error_deg(*edges)

    @property
    def tooth_deg(self) -> float:
        return crank_degrees_per_tooth(self.cam_teeth)

    @property
    def cam_teeth_late(self) -> int:
        return teeth_of_error(self.late_deg, self.tooth_deg)


ERRORS: tuple[Idea[Correlation], ...] = (
    Idea(
        "correlation-in-cam-degrees",
        lambda c: c.late_deg / 2,
        "The teeth are read on the crank wheel: they are crank degrees already.",
    ),
    Idea(
        "correlation-sign-swapped",
        lambda c: -c.late_deg,
        "A higher tooth passes later: then the cam is late, that is retarded.",
    ),
    Idea(
        "wheel-tooth-as-cam-tooth",
        lambda c: c.teeth_apart * c.tooth_deg,
        "These are teeth of the tone wheel, not of the camshaft's own wheel.",
    ),
    Idea(
        "missing-teeth-spread-out",
        lambda c: c.teeth_apart * 360 / c.wheel.teeth,
        "The turn is divided by the places, not by the teeth that are left.",
    ),
    Idea(
        "correlation-doubled",
        lambda c: 2 * c.late_deg,
        "The crank wheel is read, so nothing is doubled.",
    ),
)
VERDICTS: tuple[Idea[Correlation], ...] = (
    Idea(
        "correlation-sign-swapped",
        lambda c: -c.cam_teeth_late,
        "A higher tooth passes later: then the cam is late, that is retarded.",
    ),
    Idea(
        "wheel-tooth-as-cam-tooth",
        lambda c: c.teeth_apart,
        "These are teeth of the tone wheel, not of the camshaft's own wheel.",
    ),
    Idea(
        "retard-in-cam-degrees",
        lambda c: round(c.late_deg / (c.tooth_deg / 2)),
        "In crank degrees a tooth of the camshaft's wheel is 720° over its teeth, not 360°.",
    ),
    Idea(
        "slip-start-tooth-counted",
        lambda c: c.cam_teeth_late + (1 if c.cam_teeth_late > 0 else -1),
        "This counts the tooth at the mark as well.",
    ),
)


@family(
    "correlation",
    version=1,
    topic="signals",
    title="Cam to crank correlation",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("places", "missing", "specified_tooth", "measured_tooth", "cam_teeth"),
    asks="crank_deg late, or teeth off",
    key_follows="Wheel teeth between specified and measured edge times 360° over the places; a "
    "later tooth is retarded.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in (*ERRORS, *VERDICTS))),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: the error in crank degrees. Diagnose: the teeth the chain is off."""
    diagnose, wheel = level is Level.DIAGNOSE, words_of_sheet(sheet).wheel
    state = _drawn(sheet, draw, level)
    said = (
        f"The crankshaft carries {wheel_words(state.wheel)}, teeth numbered as they pass. "
        f"A camshaft's edge is specified at tooth {state.specified}; it now comes at tooth "
        f"{state.measured}. The cam {wheel} has {state.cam_teeth} teeth."
    )
    givens = {
        **wheel_givens(state.wheel),
        "specified_tooth": Given(state.specified),
        "measured_tooth": Given(state.measured),
        "cam_teeth": Given(state.cam_teeth, "teeth"),
    }
    if diagnose:
        return _teeth_off(state, said, givens, wheel, choose=kind is Kind.ONE_CHOICE)
    value = round(state.late_deg, 1)
    return Question(
        prompt=f"{said} By how many crank degrees is the camshaft off? Retarded counts plus, "
        f"advanced minus. {answer_in('degrees', 1)}",
        givens=givens,
        asked=Asked("crank_deg", "°", 1),
        steps=_steps(state),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(ERRORS, state),
        right_because="Teeth apart times the wheel's step, with its sign.",
        **_picture(state, f"{degrees(abs(value))} {_way(state)}"),
        keep="correlation-sign-swapped",
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Correlation:
    wheel = ToneWheel(*a_wheel(sheet, draw))
    teeth = cam_teeth(sheet, draw)
    apart = draw.integer(1, 5) * draw.choice((-1, 1))
    if level is Level.DIAGNOSE:
        off = draw.choice((-2, -1, 1, 2)) * crank_degrees_per_tooth(teeth)
        apart = round(off / wheel.step_deg)
        if abs(apart * wheel.step_deg - off) > 0.2 * crank_degrees_per_tooth(teeth):
            raise Redraw
    specified = draw.integer(7, wheel.teeth - 7)
    if not 1 <= specified + apart <= wheel.teeth or not apart:
        raise Redraw
    return Correlation(wheel, specified, specified + apart, teeth)


def _teeth_off(
    state: Correlation, said: str, givens: dict[str, Given], wheel: str, *, choose: bool
) -> Question:
    late = state.cam_teeth_late
    asks = (
        "How does the camshaft stand?"
        if choose
        else f"By how many teeth of its {wheel} is the camshaft off? Retarded plus, advanced minus."
    )
    tooth = round(state.tooth_deg, 2)
    return Question(
        prompt=f"{said} {asks}",
        givens=givens,
        asked=Asked("teeth_off", ""),
        steps=(
            *_steps(state),
            Step(
                f"One tooth of the cam {wheel}: 720° / {state.cam_teeth} = {degrees(tooth)}; "
                f"nearest is {_verdict(late)}.",
                late,
                "teeth",
            ),
        ),
        value=late,
        right=((late, _verdict(late)),) if choose else (),
        wrong=wrong_answers(VERDICTS, state, _verdict),
        right_because=f"The error in crank degrees, counted in teeth of the cam {wheel}.",
        **_picture(state, _verdict(late)),
        caution=f"{INTERFERENCE} {FIRST}",
    )


def _picture(state: Correlation, answer: str) -> Pictured:
    """The crank wheel; with the solution the cam's edge beside its place on the trace."""
    wheel = state.wheel
    plain_view = tone_wheel.ToneWheelView(wheel.places, wheel.missing)
    solved = tone_wheel.ToneWheelView(
        wheel.places,
        wheel.missing,
        asked="cam",
        answer=answer,
        cam_edge_deg=(state.measured - 1) * wheel.step_deg,
        cam_should_deg=(state.specified - 1) * wheel.step_deg,
    )
    return pictured(tone_wheel, plain_view, solved)


def _way(state: Correlation) -> str:
    return "retarded" if state.late_deg > 0 else "advanced"


def _verdict(late: object) -> str:
    if not isinstance(late, int) or not late:
        return "in time"
    way = "retarded" if late > 0 else "advanced"
    return f"{counted(abs(late), 'tooth', 'teeth')} {way}"


def _steps(state: Correlation) -> tuple[Step, ...]:
    step, late = round(state.wheel.step_deg, 3), round(state.late_deg, 1)
    apart = abs(state.teeth_apart)
    when = "later, retarded" if late > 0 else "earlier, advanced"
    return (
        Step(f"One step of the tone wheel: 360° / {state.wheel.places} = {degrees(step)}.", step,
             "°"),
        Step(
            f"From tooth {state.specified} to tooth {state.measured}: "
            f"{counted(apart, 'step')} = {degrees(abs(late))} {when}.",
            late,
            "°",
        ),
    )  # fmt: skip
