"""The stated safe position against the computed one."""

from __future__ import annotations

from collections.abc import Iterator

from quizsvc.sheets.finding import Finding, error
from quizsvc.sheets.sound import Sound
from quizsvc.timing.crank import least_drop, safe_positions

SAME_DEG = 0.5  # finer than a pointer can be read


def check_safe_position(sound: Sound) -> Iterator[Finding]:
    if sound.layout is None or sound.slider is None:
        return
    stated = sound.sheet.safe_position.atdc_deg
    computed = safe_positions(sound.layout, sound.slider)
    nearest = min(computed, key=lambda safe: _apart_deg(stated, safe.atdc_deg))
    off = _apart_deg(stated, nearest.atdc_deg)
    if off <= SAME_DEG:
        return
    here = least_drop(sound.layout, sound.slider, stated)
    angles = " or ".join(f"{safe.atdc_deg:.1f}°" for safe in computed)
    yield error(
        ("safe_position", "atdc_deg"),
        stated,
        f"the safe position is {angles} ATDC; the stated one is {off:.1f}° off. There "
        f"{_shallowest(here.cylinders)} the shallowest, {here.drop_mm:.1f} mm below TDC, against "
        f"{nearest.drop_mm:.1f} mm in the computed position.",
        f"State {nearest.atdc_deg:.1f}.",
    )


def _apart_deg(one: float, other: float) -> float:
    return abs((one - other + 180) % 360 - 180)


def _shallowest(cylinders: tuple[int, ...]) -> str:
    names = " and ".join(map(str, cylinders))
    return f"cylinder {names} is" if len(cylinders) == 1 else f"cylinders {names} are"
