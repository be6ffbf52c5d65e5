"""Family `wrap-angle`: how far the chain lies round a sprocket."""

from __future__ import annotations

import math
from dataclasses import dataclass

from quizsvc.figures import pulley_pair
from quizsvc.items.assemble import Question
from quizsvc.items.chain_drive import TwoSprockets, a_drive, chain_words, pair_picture
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, wrong_answers
from quizsvc.items.phrases import answer_in, degrees, plain
from quizsvc.items.picture import pictured
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.chain import wrap_angles_deg

SPROCKETS = ("small", "large")


@dataclass(frozen=True, slots=True)
class Wrapped:
    """A drive, and the sprocket asked about."""

    drive: TwoSprockets
    sprocket: str

    @property
    def teeth(self) -> int:
        return self.drive.small_teeth if self.sprocket == "small" else self.drive.large_teeth

    @property
    def sign(self) -> int:
        return -1 if self.sprocket == "small" else 1

    @property
    def lean_deg(self) -> float:
        """Angle between a strand and the line of centres."""
        step = (self.drive.large_mm - self.drive.small_mm) / 2
        return math.degrees(math.asin(step / self.drive.centre_mm))

    @property
    def wrap_deg(self) -> float:
        drive = self.drive
        wraps = wrap_angles_deg(
            drive.pitch_mm, drive.small_teeth, drive.large_teeth, drive.centre_mm
        )
        return wraps[0] if self.sprocket == "small" else wraps[1]

    @property
    def in_mesh(self) -> float:
        return self.wrap_deg / 360 * self.teeth


def _doubled(wrapped: Wrapped) -> float | None:
    """The wrap with diameters put for radii in the slant."""
    sine = 2 * math.sin(math.radians(wrapped.lean_deg))
    return 180 + wrapped.sign * 2 * math.degrees(math.asin(sine)) if sine < 1 else None


WRAPS: tuple[Idea[Wrapped], ...] = (
    Idea(
        "wrap-of-the-other",
        lambda w: 360 - w.wrap_deg,
        "This is the other sprocket: the large one has more than half a turn, the small one less.",
    ),
    Idea(
        "wrap-always-half",
        lambda _: 180.0,
        "Half a turn holds for equal sprockets only.",
    ),
    Idea(
        "wrap-one-side-only",
        lambda w: 180 + w.sign * w.lean_deg,
        "Both strands slant, so the angle counts on either side.",
    ),
    Idea(
        "wrap-from-diameters",
        _doubled,
        "The slant comes from the difference of the radii, not of the diameters.",
    ),
)
MESH: tuple[Idea[Wrapped], ...] = tuple(
    Idea(idea.misconception, lambda w, idea=idea: _teeth_of(idea, w), idea.because)  # type: ignore[misc]
    for idea in WRAPS
)


def _teeth_of(idea: Idea[Wrapped], wrapped: Wrapped) -> float | None:
    wrap = idea.answer(wrapped)
    return wrap / 360 * wrapped.teeth if isinstance(wrap, float) else None


@family(
    "wrap-angle",
    version=1,
    topic="chain",
    title="Wrap on a sprocket",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=(
        "pitch_mm",
        "small_teeth",
        "large_teeth",
        "small_diameter_mm",
        "large_diameter_mm",
        "centre_distance_mm",
        "sprocket",
    ),
    asks="wrap_deg",
    key_follows="Half a turn less (small) or plus (large) twice the slant of the strands.",
    misconceptions=tuple(idea.misconception for idea in WRAPS),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: the angle. Diagnose: how many teeth carry the chain."""
    drive = a_drive(sheet, draw, level)
    state = Wrapped(drive, draw.choice(SPROCKETS))
    mesh = level is Level.DIAGNOSE
    asks = (
        f"How many teeth of the {state.sprocket} sprocket does the chain lie on? "
        f"{answer_in('teeth', 2)}"
        if mesh
        else f"How far does it lie round the {state.sprocket} sprocket? {answer_in('degrees', 1)}"
    )
    return Question(
        prompt=f"{chain_words(drive)} runs over {drive.words}, straight from one to the other "
        f"(pitch diameters {plain(round(drive.small_mm, 2))} and "
        f"{plain(round(drive.large_mm, 2))} mm), centre distance {plain(drive.centre_mm)} mm. "
        f"{asks}",
        givens={
            **drive.givens(),
            "small_diameter_mm": Given(round(drive.small_mm, 2), "mm"),
            "large_diameter_mm": Given(round(drive.large_mm, 2), "mm"),
            "centre_distance_mm": Given(drive.centre_mm, "mm"),
            "sprocket": Given(state.sprocket),
        },
        asked=Asked("teeth_in_mesh", "teeth", 2) if mesh else Asked("wrap_deg", "°", 1),
        steps=_steps(state, mesh=mesh),
        value=round(state.in_mesh, 2) if mesh else round(state.wrap_deg, 1),
        tolerance=0.05 if mesh else 0.2,
        wrong=wrong_answers(MESH if mesh else WRAPS, state),
        right_because="Half a turn, with the slant of both strands.",
        **pictured(
            pulley_pair,
            pair_picture(drive, asked="first wrap" if state.sprocket == "small" else "second wrap"),
        ),
        reference="machine-element texts: wrap 180° ∓ 2α, sin α = (D − d) / 2C",
    )


def _steps(state: Wrapped, *, mesh: bool) -> tuple[Step, ...]:
    drive = state.drive
    step = round((drive.large_mm - drive.small_mm) / 2, 2)
    lean, wrap = round(state.lean_deg, 2), round(state.wrap_deg, 1)
    sign = "−" if state.sign < 0 else "+"
    said = (
        Step(f"The radii differ by {plain(step)} mm.", step, "mm"),
        Step(
            f"Slant of each strand: sin α = {plain(step)} / {plain(drive.centre_mm)}, "
            f"α = {degrees(lean)}.",
            lean,
            "°",
        ),
        Step(
            f"{state.sprocket.capitalize()} sprocket: 180° {sign} 2 × {degrees(lean)} = "
            f"{degrees(wrap)}.",
            wrap,
            "°",
        ),
    )
    if not mesh:
        return said
    teeth = round(state.in_mesh, 2)
    return (
        *said,
        Step(f"{degrees(wrap)} / 360° × {state.teeth} teeth = {plain(teeth)}.", teeth, "teeth"),
    )
