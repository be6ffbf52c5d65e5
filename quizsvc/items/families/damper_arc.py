"""Family `damper-arc`: crank degrees as millimetres along the damper's rim."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import damper
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import TURNING
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.fasteners import damper_angle_deg, damper_arc_mm

USUAL_MM = 160.0
ANGLES = (10, 15, 20, 30, 36, 45, 50, 60, 72, 75, 90, 100, 120)


@dataclass(frozen=True, slots=True)
class Rim:
    diameter_mm: float
    deg: float

    @property
    def arc_mm(self) -> float:
        return damper_arc_mm(self.diameter_mm, self.deg)


ARCS: tuple[Idea[Rim], ...] = (
    Idea(
        "damper-radius-for-diameter",
        lambda r: r.arc_mm / 2,
        "The circumference is π times the diameter, not the radius.",
    ),
    Idea(
        "damper-pi-forgotten",
        lambda r: r.diameter_mm * r.deg / 360,
        "The rim is π times the diameter long.",
    ),
    Idea(
        "damper-diameter-as-radius",
        lambda r: 2 * r.arc_mm,
        "2π goes with the radius; with the diameter it is π.",
    ),
    Idea(
        "damper-chord-for-arc",
        lambda r: r.diameter_mm * math.sin(math.radians(r.deg / 2)),
        "This is straight across; a tape on the rim follows the arc.",
    ),
)
ANGLE: tuple[Idea[Rim], ...] = (
    Idea(
        "damper-radius-for-diameter",
        lambda r: 2 * r.deg,
        "The circumference is π times the diameter, not the radius.",
    ),
    Idea(
        "damper-pi-forgotten",
        lambda r: math.pi * r.deg,
        "The rim is π times the diameter long.",
    ),
    Idea(
        "damper-in-cam-degrees",
        lambda r: r.deg / 2,
        "The damper sits on the crankshaft and turns with it, not with the camshaft.",
    ),
    Idea(
        "damper-mm-as-degrees",
        lambda r: r.arc_mm,
        "A millimetre on the rim is a degree only if the rim is 360 mm long.",
    ),
)
ALL = (*ARCS, *ANGLE)


@family(
    "damper-arc",
    version=1,
    topic="fasteners",
    title="Degrees along the damper's rim",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("diameter_mm", "deg", "arc_mm"),
    asks="arc_mm or crank_deg",
    key_follows="π times diameter over 360 for each crank degree.",
    misconceptions=tuple(dict.fromkeys(idea.misconception for idea in ALL)),
    caution=TURNING,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: where to put a mark. Diagnose: how far marks that do not meet are apart."""
    diameter = (sheet.damper_diameter_mm or USUAL_MM) + 5 * draw.integer(-3, 4)
    if level is Level.DIAGNOSE:
        return _apart(diameter, float(draw.integer(4, 40)))
    rim = Rim(diameter, float(draw.choice(ANGLES)))
    value, whole = round(rim.arc_mm, 1), round(math.pi * diameter, 1)
    return Question(
        prompt=f"A damper of {plain(diameter)} mm diameter has a mark for TDC only. A second mark "
        f"is wanted for {degrees(rim.deg)} of crankshaft. How many mm along the rim, measured with "
        f"a tape, is it from the first? {answer_in('mm', 1)}",
        givens={"diameter_mm": Given(diameter, "mm"), "deg": Given(rim.deg, "°")},
        asked=Asked("arc_mm", "mm", 1),
        steps=(
            Step(f"Length of the rim: π × {plain(diameter)} = {plain(whole)} mm.", whole, "mm"),
            Step(f"{degrees(rim.deg)} / 360° × {plain(whole)} = {plain(value)} mm.", value, "mm"),
        ),
        value=value,
        tolerance=0.3,
        wrong=wrong_answers(ARCS, rim),
        right_because="The angle as a part of the whole rim.",
        **pictured(damper, damper.Damper(diameter, rim.deg, asked="arc")),
    )


def _apart(diameter: float, arc: float) -> Question:
    rim = Rim(diameter, damper_angle_deg(diameter, arc))
    value, per = round(rim.deg, 1), round(damper_arc_mm(diameter), 4)
    return Question(
        prompt=f"With the piston of cylinder 1 found to be at TDC, the mark on a damper of "
        f"{plain(diameter)} mm diameter stands {plain(arc)} mm along the rim from its pointer: the "
        "outer ring has slipped. How many crank degrees would a reading at this mark be wrong? "
        f"{answer_in('degrees', 1)}",
        givens={"diameter_mm": Given(diameter, "mm"), "arc_mm": Given(arc, "mm")},
        asked=Asked("crank_deg", "°", 1),
        steps=(
            Step(f"One degree on the rim: π × {plain(diameter)} / 360 = {plain(per)} mm.", per,
                 "mm"),
            Step(f"{plain(arc)} / {plain(per)} = {degrees(value)}.", value, "°"),
            Step("A damper whose ring has slipped is renewed, not marked anew."),
        ),
        value=value,
        tolerance=0.2,
        wrong=wrong_answers(ANGLE, rim),
        right_because="Arc over the millimetres of one degree.",
        **pictured(damper, damper.Damper(diameter, rim.deg, asked="angle")),
    )  # fmt: skip
