"""A poppet valve in the head of a cut cylinder: where it sits, leans and opens to."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, radians, sin

from quizsvc.figures import parts
from quizsvc.figures.chain_line import Sight
from quizsvc.figures.scene import Ink, Lines, Point, Polyline, Shape, Style, Weight

EDGE_MM = 3.0  # from the bore to the outer edge of a closed valve
STEM_MM, LENGTH_MM = 6.0, 66.0


@dataclass(frozen=True, slots=True)
class SectionValve:
    """One valve: lift, head diameter, lean from the bore axis, and the room under it.

    ``recess_mm``: its lowest edge above the head's plane when closed. ``pocket_mm``: depth of
    the pocket in the piston crown.
    """

    lift_mm: float
    head_mm: float
    tilt_deg: float = 0.0
    recess_mm: float = 1.5
    pocket_mm: float = 0.0


def described(valve: SectionValve, name: str) -> str:
    if valve.lift_mm <= 0.05:
        return f"The {name} valve is closed."
    return f"The {name} valve is open, about {round(valve.lift_mm)} mm off its seat."


def lowest_mm(valve: SectionValve) -> float:
    """Return the height of a valve's lowest edge over the head's plane at its lift."""
    return valve.recess_mm - valve.lift_mm * cos(radians(valve.tilt_deg))


def roof_mm(valve: SectionValve, side: int, bore_mm: float) -> tuple[Point, Point, Point]:
    """Return the middle, outer and inner edge of a closed valve, in mm; ``side`` −1 is left."""
    tilt, half = radians(valve.tilt_deg), valve.head_mm / 2
    outer = (side * (bore_mm / 2 - EDGE_MM), valve.recess_mm)
    across = (-side * cos(tilt) * half, sin(tilt) * half)
    middle = (outer[0] + across[0], outer[1] + across[1])
    return middle, outer, (middle[0] + across[0], middle[1] + across[1])


def pocket_span_mm(valve: SectionValve, side: int, bore_mm: float) -> tuple[float, float]:
    """Return left and right end of the pocket under a valve, a little wider than its head."""
    if not valve.pocket_mm:
        middle = roof_mm(valve, side, bore_mm)[0][0]
        return middle, middle
    _, outer, inner = roof_mm(valve, side, bore_mm)
    low, high = sorted((outer[0], inner[0]))
    return low - 1.5, high + 1.5


def valve_shapes(
    valve: SectionValve, side: int, bore_mm: float, sight: Sight, ink: Ink
) -> list[Shape]:
    """Return the seat's place and the valve at its lift, moved along its own axis."""
    tilt = radians(valve.tilt_deg)
    along = (-side * sin(tilt), -cos(tilt))  # into the chamber
    middle, outer, inner = roof_mm(valve, side, bore_mm)
    move = valve.lift_mm

    def moved(point: Point, up: float = 0.0) -> Point:
        return sight.at((point[0] + along[0] * (move - up), point[1] + along[1] * (move - up)))

    def stem(offset: float, up: float) -> Point:
        return moved((middle[0] - along[1] * offset, middle[1] + along[0] * offset), up)

    half = STEM_MM / 2
    head = (moved(outer), moved(outer, 2), stem(half * side, 9), stem(-half * side, 9),
            moved(inner, 2), moved(inner))  # fmt: skip
    rod = (stem(half, 9), stem(half, LENGTH_MM), stem(-half, LENGTH_MM), stem(-half, 9))
    style = Style(ink, Ink.PAPER)
    seat = (sight.at(outer), sight.at(inner))
    name = "intake valve" if side < 0 else "exhaust valve"
    return [
        Lines((seat,), Style(Ink.LINE, weight=Weight.THIN, dash=parts.HIDDEN.dash)),
        Polyline(rod, style, closed=True),
        Polyline(head, style, closed=True, name=name),
    ]
