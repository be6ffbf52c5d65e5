"""Tone wheels as the signal families put them: the sheet's own and common ones."""

from __future__ import annotations

from quizsvc.items.choosing import Draw
from quizsvc.items.model import Given
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.sensors import ToneWheel

COMMON = ((60, 2), (36, 1), (36, 2), (24, 1), (30, 2))  # common practice, no source


def a_wheel(sheet: EngineSheet, draw: Draw) -> tuple[int, int]:
    """Draw places and missing teeth of a crank wheel: the sheet's as often as all others."""
    own = [(wheel.places, wheel.missing) for wheel in sheet.sensors if wheel.missing]
    return draw.choice(own) if own and draw.chance(0.5) else draw.choice(COMMON)


def wheel_name(wheel: ToneWheel) -> str:
    """Name a wheel as the trade does: "60−2"."""
    return f"{wheel.places}−{wheel.missing}"


def wheel_words(wheel: ToneWheel) -> str:
    """Say a wheel so that nobody has to know how it is named."""
    teeth = "tooth is" if wheel.missing == 1 else "teeth are"
    return (
        f"a {wheel_name(wheel)} tone wheel ({wheel.places} equal places, of which "
        f"{wheel.missing} {teeth} missing)"
    )


def wheel_givens(wheel: ToneWheel) -> dict[str, Given]:
    return {"places": Given(wheel.places, "places"), "missing": Given(wheel.missing, "teeth")}
