"""Two-sprocket chain drives as the chain families put them, drawn around the sheet's own."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures.pulley_pair import Pulley, PulleyPair
from quizsvc.items.choosing import Draw
from quizsvc.items.model import Given, Level
from quizsvc.items.phrases import plain
from quizsvc.sheets.schema import EngineSheet, WheelPart
from quizsvc.timing.chain import pitch_diameter_mm

PITCHES_MM = (8.0, 9.525, 12.7)  # 05B, 06B, 08B: ISO 606


@dataclass(frozen=True, slots=True)
class TwoSprockets:
    """A chain over two sprockets; equal ones join two camshafts."""

    pitch_mm: float
    small_teeth: int
    large_teeth: int
    centre_mm: float

    @property
    def centre_pitches(self) -> float:
        return self.centre_mm / self.pitch_mm

    @property
    def small_mm(self) -> float:
        return pitch_diameter_mm(self.pitch_mm, self.small_teeth)

    @property
    def large_mm(self) -> float:
        return pitch_diameter_mm(self.pitch_mm, self.large_teeth)

    @property
    def words(self) -> str:
        """Say the sprockets: "sprockets of 18 and 36 teeth"."""
        if self.small_teeth == self.large_teeth:
            return f"two sprockets of {self.small_teeth} teeth each"
        return f"sprockets of {self.small_teeth} and {self.large_teeth} teeth"

    def givens(self) -> dict[str, Given]:
        return {
            "pitch_mm": Given(self.pitch_mm, "mm"),
            "small_teeth": Given(self.small_teeth, "teeth"),
            "large_teeth": Given(self.large_teeth, "teeth"),
        }


def a_pitch(sheet: EngineSheet, draw: Draw) -> float:
    """Draw a chain pitch: the sheet's own as often as all others."""
    own = [drive.pitch_mm for drive in sheet.drives if drive.kind == "chain"]
    return draw.choice(own) if own and draw.chance(0.5) else draw.choice(PITCHES_MM)


def sheet_teeth(sheet: EngineSheet) -> tuple[int, ...]:
    """Return the teeth of every chain sprocket on the sheet."""
    found = {
        wheel.teeth
        for drive in sheet.drives
        for wheel in drive.wheels
        if wheel.teeth and wheel.part is WheelPart.SPROCKET
    }
    return tuple(sorted(found)) or (18, 36)


def a_drive(sheet: EngineSheet, draw: Draw, level: Level) -> TwoSprockets:
    """Draw a drive: equal sprockets to recall, crankshaft to camshaft otherwise."""
    pitch = a_pitch(sheet, draw)
    if level is Level.RECALL:
        teeth = draw.integer(20, 30)
        centre = draw.integer(round(pitch * (teeth / 3 + 3)), round(pitch * (teeth / 3 + 14)))
        return TwoSprockets(pitch, teeth, teeth, float(centre))
    small = draw.integer(16, 24)
    centre = draw.integer(round(pitch * 30), round(pitch * 48))
    return TwoSprockets(pitch, small, 2 * small, float(centre))


def chain_words(drive: TwoSprockets) -> str:
    return f"A chain of {plain(drive.pitch_mm)} mm pitch"


def pair_picture(
    drive: TwoSprockets, *, asked: str = "", centre_mm: float = 0.0, note: str = ""
) -> PulleyPair:
    """Return the drive as a picture, the small sprocket on the left; see `PulleyPair`."""
    equal = drive.small_teeth == drive.large_teeth
    names = ("first sprocket", "second sprocket") if equal else ("small sprocket", "large sprocket")
    return PulleyPair(
        Pulley(names[0], drive.small_mm, f"{drive.small_teeth} teeth"),
        Pulley(names[1], drive.large_mm, f"{drive.large_teeth} teeth"),
        centre_mm or drive.centre_mm,
        asked=asked,
        note=note,
    )
