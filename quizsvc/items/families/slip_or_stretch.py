"""Family `slip-or-stretch`: whether a correlation error is a slipped tooth or wear."""

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
from quizsvc.items.phrases import counted, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.marks import crank_degrees_per_tooth
from quizsvc.timing.sensors import teeth_of_error

CLEAR_OF_HALF = 0.35  # of a tooth: further off, slip and wear could both be meant
EDGE_DEG = 180.0  # where the picture puts the specified edge
READING_DEG = 2.0
CAUSES = ("stretch", "slip", "phaser")


@dataclass(frozen=True, slots=True)
class Error:
    """A camshaft's error in crank degrees, late is positive, and what wear can explain."""

    error_deg: float
    cam_teeth: int
    wear_limit_deg: float

    @property
    def tooth_deg(self) -> float:
        return crank_degrees_per_tooth(self.cam_teeth)

    @property
    def teeth(self) -> int:
        return teeth_of_error(self.error_deg, self.tooth_deg)

    @property
    def verdict(self) -> str:
        if self.teeth:
            return _slip(self.teeth)
        if 0 < self.error_deg <= self.wear_limit_deg + READING_DEG:
            return STRETCH
        return NEITHER


STRETCH = "stretch of the chain"
NEITHER = "neither: look at phaser, marks and tone wheel"
SENSOR = "a sensor that misses teeth"


def _slip(teeth: int) -> str:
    way = "retarded" if teeth > 0 else "advanced"
    return f"the chain is off by {counted(abs(teeth), 'tooth', 'teeth')}, {way}"


def _half_tooth(error: Error) -> str | None:
    teeth = round(error.error_deg / (error.tooth_deg / 2))
    return _slip(teeth) if teeth else None


IDEAS: tuple[Idea[Error], ...] = (
    Idea(
        "stretch-for-slip",
        lambda e: STRETCH,  # noqa: ARG005 - the idea looks at no number
        "Stretch reaches only a few degrees and always retards; compare with the wear limit.",
    ),
    Idea(
        "slip-for-stretch",
        lambda e: _slip(1 if e.error_deg > 0 else -1),
        "A slipped tooth moves the cam by a whole tooth in crank degrees, not by part of one.",
    ),
    Idea(
        "retard-in-cam-degrees",
        _half_tooth,
        "This takes 360° divided by the teeth for a tooth; in crank degrees it is 720°.",
    ),
    Idea(
        "late-for-early",
        lambda e: _slip(-e.teeth) if e.teeth else _slip(-1 if e.error_deg > 0 else 1),
        "Late is retarded, early is advanced.",
    ),
    Idea(
        "fault-at-the-sensor",
        lambda e: SENSOR,  # noqa: ARG005 - the idea looks at no number
        "A sensor that misses teeth gives a fault of its own, not a steady angle.",
    ),
)


@family(
    "slip-or-stretch",
    version=1,
    topic="wear",
    title="Slipped tooth or stretched chain",
    levels=(Level.DIAGNOSE,),
    kinds=(Kind.ONE_CHOICE,),
    gives=("error_deg", "cam_teeth", "wear_limit_deg"),
    asks="cause",
    key_follows="Near a whole tooth of 720° over the teeth it has slipped; late within the wear "
    "limit it is stretch; else neither.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=f"{INTERFERENCE} {FIRST}",
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, _level: Level, _kind: Kind) -> Question:
    error = _drawn(sheet, draw)
    late = "later" if error.error_deg > 0 else "earlier"
    return Question(
        prompt=f"Steady at idle, its phaser parked, a camshaft's edge comes "
        f"{plain(abs(error.error_deg))} crank degrees {late} than specified. Its sprocket has "
        f"{error.cam_teeth} teeth; a chain worn to its limit explains "
        f"{plain(error.wear_limit_deg)} crank degrees of retard. What fits best?",
        givens={
            "error_deg": Given(error.error_deg, "°"),
            "cam_teeth": Given(error.cam_teeth, "teeth"),
            "wear_limit_deg": Given(error.wear_limit_deg, "°"),
        },
        asked=Asked("cause", ""),
        steps=_steps(error),
        right=((error.verdict, error.verdict),),
        wrong=wrong_answers(IDEAS, error, str),
        right_because="Held against a whole tooth and against what wear can do.",
        **pictured(tone_wheel, _trace(error), _trace(error, solved=True)),
        reference="common practice, no source",
    )


def _trace(error: Error, *, solved: bool = False) -> tone_wheel.ToneWheelView:
    """Crank wheel with the cam's edge beside its place."""
    return tone_wheel.ToneWheelView(
        60,
        2,
        cam_edge_deg=EDGE_DEG + error.error_deg,
        cam_should_deg=EDGE_DEG,
        note=f"Likely: {error.verdict}." if solved else "Crank wheel, and below it the cam signal.",
    )


def _drawn(sheet: EngineSheet, draw: Draw) -> Error:
    teeth = cam_teeth(sheet, draw)
    tooth, limit = crank_degrees_per_tooth(teeth), float(draw.integer(4, 8))
    cause = draw.choice(CAUSES)
    if cause == "slip":
        exact = draw.choice((-2, -1, 1, 2)) * tooth
        off = round(exact) + draw.integer(-1, 1)
    elif cause == "stretch":
        off = draw.integer(2, int(limit))
    else:
        off = -draw.integer(3, 6)
    if abs(off / tooth - round(off / tooth)) > CLEAR_OF_HALF:
        raise Redraw
    return Error(float(off), teeth, limit)


def _steps(error: Error) -> tuple[Step, ...]:
    tooth, limit = round(error.tooth_deg, 2), plain(error.wear_limit_deg)
    parts = error.error_deg / error.tooth_deg
    said = Step(
        f"One tooth is 720° / {error.cam_teeth} = {degrees(tooth)}; the error is {parts:.2f} "
        "teeth.".replace("-", "−"),
        round(parts, 2),
        "teeth",
    )
    if error.teeth:
        return (said, Step(f"That is near a whole number: {error.verdict}."))
    if error.verdict == STRETCH:
        return (said, Step(f"No whole tooth, late, and within {limit}°: {STRETCH}."))
    return (said, Step(f"No whole tooth, and wear never advances a camshaft: {NEITHER}."))
