"""Family `teeth-in-mesh`: how many teeth of the small pulley a toothed belt lies on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.figures.pulley_pair import Pulley, PulleyPair
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import BELT_SETTING
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, number_text, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.belt import small_pulley_wrap_deg

ASKED = Asked("teeth_in_mesh", "teeth", 1)
TOLERANCE = 0.1
LEAST_TEETH = 6  # carry a belt's full load; common practice, no source
NEAREST = 0.25  # from the least, so that rounding decides no verdict


@dataclass(frozen=True, slots=True)
class Mesh:
    """A belt over two toothed pulleys, straight from one to the other."""

    pitch_mm: float
    small_teeth: int
    large_teeth: int
    centre_mm: float

    @property
    def small_mm(self) -> float:
        return self.small_teeth * self.pitch_mm / math.pi

    @property
    def large_mm(self) -> float:
        return self.large_teeth * self.pitch_mm / math.pi

    @property
    def wrap_deg(self) -> float:
        return small_pulley_wrap_deg(self.small_mm, self.large_mm, self.centre_mm)

    @property
    def lean_deg(self) -> float:
        return (180 - self.wrap_deg) / 2

    def teeth_on(self, wrap_deg: float) -> float:
        return self.small_teeth * wrap_deg / 360

    @property
    def in_mesh(self) -> float:
        return self.teeth_on(self.wrap_deg)


def _steep(mesh: Mesh) -> float | None:
    sine = (mesh.large_mm - mesh.small_mm) / mesh.centre_mm
    return None if sine >= 1 else mesh.teeth_on(180 - 2 * math.degrees(math.asin(sine)))


IDEAS: tuple[Idea[Mesh], ...] = (
    Idea("mesh-always-half", lambda m: m.small_teeth / 2, "Half holds for equal pulleys only."),
    Idea(
        "mesh-slant-once",
        lambda m: m.teeth_on(180 - m.lean_deg),
        "Both strands are slanted: the angle counts twice.",
    ),
    Idea(
        "mesh-of-the-large",
        lambda m: m.teeth_on(180 + 2 * m.lean_deg),
        "The strands open towards the large pulley; the small one gets less than half a turn.",
    ),
    Idea("mesh-diameters-for-radii", _steep, "The slant comes from the radii."),
    Idea(
        "mesh-less-the-ends",
        lambda m: m.in_mesh - 2,
        "Teeth running in and out count by their share, none is taken off.",
    ),
)


@family(
    "teeth-in-mesh",
    version=1,
    topic="chain",
    title="Belt teeth in mesh",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("pitch_mm", "small_teeth", "large_teeth", "centre_distance_mm", "least_teeth"),
    asks="teeth_in_mesh",
    key_follows="Teeth times wrap over 360°; the wrap is 180° less twice the slant of a strand.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=BELT_SETTING,
    drive="belt",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: how many teeth. Diagnose: whether they are enough."""
    diagnose = level is Level.DIAGNOSE
    mesh, verdict = _drawn(sheet, draw, level), diagnose and kind is Kind.ONE_CHOICE
    value = mesh.in_mesh
    least = f" At least {LEAST_TEETH} teeth are to be in mesh." if diagnose else ""
    asks = "How many teeth of the small pulley does the belt lie on"
    asks += ", and is that enough?" if verdict else f"? {answer_in('teeth', 1)}"
    return Question(
        prompt=f"A toothed belt of {plain(mesh.pitch_mm)} mm pitch runs straight from a pulley of "
        f"{mesh.small_teeth} teeth to one of {mesh.large_teeth}, centre distance "
        f"{plain(mesh.centre_mm)} mm. A pulley's pitch circumference is its teeth times the pitch."
        f"{least} {asks}",
        givens=_givens(mesh, diagnose=diagnose),
        asked=ASKED,
        steps=_steps(mesh, diagnose=diagnose),
        value=value,
        tolerance=TOLERANCE,
        right=((value, _verdict(value)),) if verdict else (),
        wrong=wrong_answers(IDEAS, mesh, _verdict if verdict else None),
        right_because="Its teeth times the part of a turn that the belt lies round it.",
        reference="open belt geometry; six teeth in mesh: common practice, no source",
        **pictured(pulley_pair, _picture(mesh)),
    )


def _drawn(sheet: EngineSheet, draw: Draw, level: Level) -> Mesh:
    pitches = [drive.pitch_mm for drive in sheet.drives if drive.kind == "belt"]
    pitch = draw.choice((*pitches, 5.0, 8.0, 9.525))
    small = draw.integer(12, 18) if level is Level.DIAGNOSE else draw.integer(16, 24)
    large = small + draw.integer(12, 34)
    reach = pitch * (small + large) / math.tau
    centre = float(round(reach * draw.step(1.3, 2.6, 0.05)))
    mesh = Mesh(pitch, small, large, centre)
    if mesh.lean_deg < 6 or abs(mesh.in_mesh - LEAST_TEETH) < NEAREST:
        raise Redraw
    return mesh


def _verdict(value: object) -> str:
    if not isinstance(value, int | float):
        return ""
    enough = "enough" if round(value, 1) >= LEAST_TEETH else "too few"
    return f"{number_text(value, 1, 'teeth')}: {enough}"


def _givens(mesh: Mesh, *, diagnose: bool) -> dict[str, Given]:
    givens = {
        "pitch_mm": Given(mesh.pitch_mm, "mm"),
        "small_teeth": Given(mesh.small_teeth, "teeth"),
        "large_teeth": Given(mesh.large_teeth, "teeth"),
        "centre_distance_mm": Given(mesh.centre_mm, "mm"),
    }
    if diagnose:
        givens["least_teeth"] = Given(LEAST_TEETH, "teeth")
    return givens


def _picture(mesh: Mesh) -> PulleyPair:
    return PulleyPair(
        Pulley("small pulley", mesh.small_mm, f"{mesh.small_teeth} teeth"),
        Pulley("large pulley", mesh.large_mm, f"{mesh.large_teeth} teeth"),
        mesh.centre_mm,
        asked="first wrap",
        diameters_shown=False,
        note="Only the pitch lines are drawn.",
    )


def _steps(mesh: Mesh, *, diagnose: bool) -> tuple[Step, ...]:
    apart = (mesh.large_mm - mesh.small_mm) / 2
    lean, wrap = round(mesh.lean_deg, 1), round(mesh.wrap_deg, 1)
    steps = [
        Step(
            f"Pitch radii: teeth × {plain(mesh.pitch_mm)} ÷ 2π; they differ by {apart:.2f} mm.",
            apart,
            "mm",
        ),
        Step(
            f"A strand slants by arcsin({apart:.2f} ÷ {plain(mesh.centre_mm)}) = {degrees(lean)}.",
            lean,
            "°",
        ),
        Step(f"Wrap of the small pulley: 180° − 2 × {degrees(lean)} = {degrees(wrap)}.", wrap, "°"),
        Step(
            f"{mesh.small_teeth} × {degrees(wrap)} ÷ 360° = {mesh.in_mesh:.1f} teeth.",
            mesh.in_mesh,
            "teeth",
        ),
    ]
    if diagnose:
        steps.append(Step(f"{_verdict(mesh.in_mesh)} ({LEAST_TEETH} are asked for)."))
    return tuple(steps)
