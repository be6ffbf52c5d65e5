"""All cylinders of the bench in a row, and one of them large: pistons and valves at true lift.

Cylinders are drawn upright whatever their bank; one scale holds within each picture.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import cos, radians, sin

from quizsvc.figures import parts
from quizsvc.figures.bench_parts import CHOSEN, Drawing, Part, Piece, Way
from quizsvc.figures.chain_line import Sight
from quizsvc.figures.scene import (
    Circle,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Shape,
    Style,
    Weight,
    at_clock,
)
from quizsvc.figures.section_valves import SectionValve, pocket_span_mm, roof_mm
from quizsvc.sheets.bench_columns import TURN
from quizsvc.sheets.schema import EngineSheet
from quizsvc.sheets.state import layout_of, slider_of
from quizsvc.timing.valves import ValveKind

ROW_WIDTH, SECTION_WIDTH = 520.0, 300.0
ROW_SIDE, ROW_TOP = 10.0, 8.0
HEAD_MM, SKIRT_MM, PIN_DOWN_MM, WALL_MM = 46.0, 40.0, 24.0, 7.0
STEM_MM, STEM_UP_MM = 6.0, 58.0
INKS: dict[ValveKind, Ink] = {"intake": Ink.COOL, "exhaust": Ink.WARM}
SIDES: dict[ValveKind, int] = {"intake": -1, "exhaust": 1}
_TOUCH = Style(Ink.ACCENT, Ink.NONE, Weight.THICK)


@lru_cache(32)
def row(sheet: EngineSheet) -> Drawing:
    """Return every cylinder, small, in the order of their numbers."""
    cylinders = layout_of(sheet).cylinders
    pitch = (ROW_WIDTH - 2 * ROW_SIDE) / len(cylinders)
    wide = sheet.piston.bore_mm + 2 * WALL_MM + 8
    scale = min(pitch / wide, 0.95)
    pieces: list[Piece] = []
    for place, cylinder in enumerate(cylinders):
        x = ROW_SIDE + pitch * (place + 0.5)
        sight = Sight(scale, x, ROW_TOP + (HEAD_MM + 14) * scale)
        pieces += _cylinder(sheet, sight, str(cylinder))
        low = sight.at((0, -_low_mm(sheet)))[1]
        pieces.append(Part((Label((x, low + 18), str(cylinder), 17, bold=True),)))
    bottom = ROW_TOP + (HEAD_MM + 14 + _low_mm(sheet)) * scale + 26
    return Drawing("row", ROW_WIDTH, round(bottom), tuple(pieces))


@lru_cache(32)
def section(sheet: EngineSheet) -> Drawing:
    """Return the chosen cylinder, large, with rod and crank."""
    slider, piston = slider_of(sheet), sheet.piston
    reach = _crown_down_mm(sheet) + PIN_DOWN_MM + piston.rod_mm + slider.throw_mm
    high = HEAD_MM + 16 + reach + slider.throw_mm + 20
    scale = min((SECTION_WIDTH - 24) / (piston.bore_mm + 2 * WALL_MM + 6), 460 / high)
    sight = Sight(scale, SECTION_WIDTH / 2, 8 + (HEAD_MM + 16) * scale)
    crank = sight.at((0, -reach))
    pieces: list[Piece] = [
        _crank(sheet, sight, crank),
        _rod(sheet, sight),
        *_cylinder(sheet, sight, CHOSEN),
    ]
    return Drawing("section", SECTION_WIDTH, round(crank[1] + slider.throw_mm * scale + 30),
                   tuple(pieces))  # fmt: skip


def section_valve(sheet: EngineSheet, valve: ValveKind) -> SectionValve:
    """Return a valve of the sheet as it is drawn, closed."""
    stated = sheet.valves
    if valve == "intake":
        return SectionValve(
            0.0,
            stated.intake_head_mm,
            stated.intake_tilt_deg,
            stated.intake_recess_mm,
            stated.intake_pocket_mm,
        )
    return SectionValve(
        0.0,
        stated.exhaust_head_mm,
        stated.exhaust_tilt_deg,
        stated.exhaust_recess_mm,
        stated.exhaust_pocket_mm,
    )


def contact_name(cylinder: object, valve: ValveKind) -> str:
    """Return the name under which a contact is shown."""
    return f"contact:{cylinder}:{valve}"


def _cylinder(sheet: EngineSheet, sight: Sight, number: str) -> list[Piece]:
    return [
        Part(tuple(_walls(sheet, sight))),
        Part(tuple(_piston(sheet, sight)), Way.SLIDE, f"drop:{number}", dy=round(sight.scale, 4)),
        Part((_head(sheet, sight),)),
        *(_valve(sheet, sight, number, valve) for valve in INKS),
        *(_touch(sheet, sight, number, valve) for valve in INKS),
    ]


def _crown_down_mm(sheet: EngineSheet) -> float:
    """Return how far the crown stands below the head's plane at TDC."""
    return sheet.piston.gasket_mm + sheet.piston.deck_mm


def _low_mm(sheet: EngineSheet) -> float:
    return sheet.piston.stroke_mm + SKIRT_MM * 0.9


def _walls(sheet: EngineSheet, sight: Sight) -> list[Shape]:
    half, low = sheet.piston.bore_mm / 2, -_low_mm(sheet)
    shapes: list[Shape] = []
    for side in (-1, 1):
        inner, outer = half * side, (half + WALL_MM) * side
        left, top = sight.at((min(inner, outer), 0))
        right, bottom = sight.at((max(inner, outer), low))
        shapes += [
            parts.hatched(left, top, right, bottom, gap=max(5.0, 9 * sight.scale / 1.5)),
            Lines(((sight.at((inner, low)), sight.at((inner, 0))),), Style(weight=Weight.MEDIUM)),
            Lines(((sight.at((outer, low)), sight.at((outer, 0))),), parts.FINE),
        ]
    return shapes


def _piston(sheet: EngineSheet, sight: Sight) -> list[Shape]:
    half, crown = sheet.piston.bore_mm / 2 - 0.8, -_crown_down_mm(sheet)
    top: list[Point] = [(-half, crown)]
    for valve, side in SIDES.items():
        pocket = section_valve(sheet, valve)
        left, right = pocket_span_mm(pocket, side, sheet.piston.bore_mm)
        left, right = max(left, -half), min(right, half)
        floor = crown - pocket.pocket_mm
        top += [(left, crown), (left, floor), (right, floor), (right, crown)]
    body = (*top, (half, crown), (half, crown - SKIRT_MM), (-half, crown - SKIRT_MM))
    rings = tuple(
        (sight.at((-half, crown - down)), sight.at((half, crown - down))) for down in (8, 12, 16)
    )
    pin = sight.at((sheet.piston.pin_offset_mm, crown - PIN_DOWN_MM))
    return [
        Polyline(tuple(map(sight.at, body)), Style(Ink.LINE, Ink.SHADE), closed=True),
        Lines(rings, parts.FINE),
        Circle(pin, 8 * sight.scale, parts.EDGE),
        Circle(pin, 4 * sight.scale, Style(Ink.LINE, Ink.PAPER, Weight.THIN)),
    ]


def _head(sheet: EngineSheet, sight: Sight) -> Shape:
    bore, half = sheet.piston.bore_mm, sheet.piston.bore_mm / 2
    outer = half + WALL_MM
    outline = [
        (-half, 0.0),
        *roof_mm(section_valve(sheet, "intake"), -1, bore)[1:],
        *reversed(roof_mm(section_valve(sheet, "exhaust"), 1, bore)[1:]),
        (half, 0.0),
        (outer, 0.0),
        (outer, HEAD_MM - 10),
        (-outer, HEAD_MM - 10),
        (-outer, 0.0),
    ]
    return Polyline(tuple(map(sight.at, outline)), parts.EDGE, closed=True)


def _valve(sheet: EngineSheet, sight: Sight, number: str, valve: ValveKind) -> Part:
    side, drawn, bore = SIDES[valve], section_valve(sheet, valve), sheet.piston.bore_mm
    tilt = radians(drawn.tilt_deg)
    along = (-side * sin(tilt), -cos(tilt))  # into the chamber
    middle, outer, inner = roof_mm(drawn, side, bore)

    def up(point: Point, by: float, across: float = 0.0) -> Point:
        return sight.at(
            (
                point[0] - along[0] * by - along[1] * across,
                point[1] - along[1] * by + along[0] * across,
            )
        )

    half = STEM_MM / 2
    left, right = sorted((outer, inner))
    outline = (
        up(left, 0),
        up(left, 2),
        up(middle, 9, -half),
        up(middle, STEM_UP_MM, -half),
        up(middle, STEM_UP_MM, half),
        up(middle, 9, half),
        up(right, 2),
        up(right, 0),
    )
    return Part(
        (Polyline(outline, Style(INKS[valve], Ink.PAPER), closed=True),),
        Way.SLIDE,
        f"lift:{number}:{valve}",
        dx=round(along[0] * sight.scale, 4),
        dy=round(-along[1] * sight.scale, 4),
    )


def _touch(sheet: EngineSheet, sight: Sight, number: str, valve: ValveKind) -> Part:
    """Ring the lowest edge of a valve, where it meets its piston; the ring goes with the valve."""
    lifted = _valve(sheet, sight, number, valve)
    edge = roof_mm(section_valve(sheet, valve), SIDES[valve], sheet.piston.bore_mm)[1]
    ring = Circle(sight.at(edge), max(8.0, 8 * sight.scale), _TOUCH)
    return replace(lifted, shapes=(ring,), shown_if=contact_name(number, valve))


def _crank(sheet: EngineSheet, sight: Sight, centre: Point) -> Part:
    throw = sheet.piston.stroke_mm / 2 * sight.scale
    pin_at = slider_of(sheet).tdc_deg
    crankpin = at_clock(centre, throw, pin_at)
    grey = Style(Ink.LINE, Ink.SHADE)
    shapes: tuple[Shape, ...] = (
        Circle(at_clock(centre, 0.55 * throw, pin_at + 180), 0.62 * throw, grey),
        Polyline(_link(centre, crankpin, 15 * sight.scale, 11 * sight.scale), grey, closed=True),
        Circle(centre, 12 * sight.scale, parts.EDGE),
        Circle(crankpin, 10 * sight.scale, parts.EDGE),
    )
    circle = Circle(centre, throw, parts.CENTRE_LINE)
    return Part(
        (circle, *shapes),
        Way.TURN,
        f"{TURN}crank:{CHOSEN}",
        x=round(centre[0], 2),
        y=round(centre[1], 2),
    )


def _rod(sheet: EngineSheet, sight: Sight) -> Part:
    """Draw the rod hanging straight from the piston pin at TDC; it slides and leans."""
    x = sheet.piston.pin_offset_mm
    top = sight.at((x, -_crown_down_mm(sheet) - PIN_DOWN_MM))
    foot = (top[0], top[1] + sheet.piston.rod_mm * sight.scale)
    link = Polyline(_link(foot, top, 9 * sight.scale, 6.5 * sight.scale), parts.EDGE, closed=True)
    big_end = Circle(foot, 13 * sight.scale, parts.EDGE)
    pin = Circle(foot, 8 * sight.scale, Style(Ink.LINE, Ink.PAPER))
    return Part(
        (link, big_end, pin),
        Way.SWING,
        f"drop:{CHOSEN}",
        x=round(top[0], 2),
        y=round(top[1], 2),
        dy=round(sight.scale, 4),
        lean=f"lean:{CHOSEN}",
    )


def _link(start: Point, end: Point, half_start: float, half_end: float) -> tuple[Point, ...]:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5 or 1.0
    nx, ny = -dy / length, dx / length
    return (
        (start[0] + nx * half_start, start[1] + ny * half_start),
        (end[0] + nx * half_end, end[1] + ny * half_end),
        (end[0] - nx * half_end, end[1] - ny * half_end),
        (start[0] - nx * half_start, start[1] - ny * half_start),
    )
