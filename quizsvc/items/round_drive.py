"""Drives laid out round a crankshaft for questions about how wheels turn and which strand pulls."""

from __future__ import annotations

from functools import lru_cache
from math import cos, hypot, radians, sin

from quizsvc.errors import InputError
from quizsvc.figures.drive_state import DriveView, ViewWheel, path_of
from quizsvc.timing.chain import pitch_diameter_mm

REACH_MM = 120.0  # of the inside wheels from the middle
CRANK_MM, WHEEL_MM = 31.0, 22.0  # radii of pulleys
CRANK_TEETH, CAM_TEETH, OTHER_TEETH = 18, 36, 24
PRESSED_IN_MM = 14.0  # how far a wheel on the back pushes the belt


@lru_cache(512)
def round_drive(
    names: tuple[str, ...], back: tuple[bool, ...], *, clockwise: bool, pitch_mm: float = 0.0
) -> DriveView | None:
    """Lay a crankshaft wheel at the bottom and the named wheels in the order the loop meets them.

    ``back`` says which press on the loop's back. None where no loop can lie so.
    """
    count = len(names) + 1
    way = 1 if clockwise else -1
    turned = [180 + way * 360 * place / count for place in range(count)]
    inside = [True, *(not flag for flag in back)]
    teeth = [CRANK_TEETH, *map(_teeth_of, names)] if pitch_mm else [0] * count
    rounds = [CRANK_MM, *[WHEEL_MM] * len(names)]
    if pitch_mm:
        rounds = [pitch_diameter_mm(pitch_mm, one) / 2 for one in teeth]
    places = [_place(turned, inside, rounds, index) for index in range(count)]
    view = DriveView(
        tuple(
            ViewWheel(
                name,
                *place,
                radius,
                teeth=toothed,
                back=not within,
                part="sprocket" if pitch_mm else "pulley",
            )
            for name, place, radius, toothed, within in zip(
                ("crankshaft", *names), places, rounds, teeth, inside, strict=True
            )
        ),
        clockwise,
        pitch_mm,
    )
    try:
        path = path_of(view)
    except InputError:
        return None
    return view if all(abs(arc.wrap_deg) > 4 for arc in path.arcs) else None


def _teeth_of(name: str) -> int:
    return CAM_TEETH if "camshaft" in name else OTHER_TEETH


def _place(
    turned: list[float], inside: list[bool], rounds: list[float], index: int
) -> tuple[float, float]:
    """Return where a wheel stands: on the ring, or outside the strand that it presses in."""
    direction = radians(turned[index])
    ray = (sin(direction), cos(direction))
    if inside[index]:
        return REACH_MM * ray[0], REACH_MM * ray[1]
    before = max(i for i in range(index) if inside[i])
    after = min((i for i in range(index, len(inside)) if inside[i]), default=len(inside))
    ends = [_on_ring(turned[i % len(inside)]) for i in (before, after)]
    (x, y), (u, v) = ends
    length = hypot(u - x, v - y) or 1.0
    normal = ((v - y) / length, -(u - x) / length)
    if normal[0] * ray[0] + normal[1] * ray[1] < 0:
        normal = (-normal[0], -normal[1])
    strand = x * normal[0] + y * normal[1] + max(rounds[before], rounds[after % len(rounds)])
    out = (strand + rounds[index] - PRESSED_IN_MM) / (normal[0] * ray[0] + normal[1] * ray[1])
    return out * ray[0], out * ray[1]


def _on_ring(deg: float) -> tuple[float, float]:
    return REACH_MM * sin(radians(deg)), REACH_MM * cos(radians(deg))
