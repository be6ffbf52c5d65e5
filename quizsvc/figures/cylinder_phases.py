"""Every cylinder of an engine at one moment: piston at its true height, stroke named or asked."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Area,
    Arrow,
    Circle,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

MOST_IN_A_ROW = 4
TRAVEL = 84.0  # the stroke in picture units
_LEFT = 52.0  # room for the words TDC and BDC
_BORE = 62.0
_WALL = 8.0
_HEAD = 44.0  # from the top of a row to the underside of the head
_CHAMBER = 11.0
_PISTON = 40.0
_ROW = 226.0


@dataclass(frozen=True, slots=True)
class Phase:
    """One cylinder: its number, how far its piston stands below TDC, and its stroke.

    ``shown`` names the stroke, "?" is drawn where it is ``asked``. ``measured`` draws the drop
    as a dimension, whose number appears with the solution only. ``moving`` is "", "up" or
    "down".
    """

    cylinder: int
    drop_mm: float
    stroke: str = ""
    shown: bool = False
    asked: bool = False
    measured: bool = False
    moving: str = ""
    bank: str = ""


@dataclass(frozen=True, slots=True)
class CylinderPhases:
    phases: tuple[Phase, ...]
    stroke_mm: float
    moment: str = ""  # "Crankshaft 110° after firing TDC of cylinder 1."


def describe(state: CylinderPhases) -> str:
    cylinders = " ".join(_described(phase, state.stroke_mm) for phase in state.phases)
    return f"{len(state.phases)} cylinders cut open, pistons at true height. {cylinders}" + (
        f" {state.moment}" if state.moment else ""
    )


def draw(state: CylinderPhases, *, solution: bool = False) -> Scene:
    """Draw the cylinders in rows, by bank where banks are named."""
    _check(state)
    shapes: list[Shape] = []
    top = 8.0
    for title, row in _rows(state.phases):
        if title:
            shapes.append(Label((parts.MARGIN, top + 16), title, anchor=Anchor.START, bold=True))
            top += 24
        shapes += _row(row, state.stroke_mm, top, solution=solution)
        top += _ROW
    if state.moment:
        words, top = parts.caption(state.moment, top + 4)
        shapes += words
    return Scene(parts.WIDTH, top, tuple(shapes), describe(state))


def places(state: CylinderPhases) -> tuple[Area, ...]:
    """Return each cylinder as a place to point at."""
    column = (parts.WIDTH - 8 - _LEFT) / MOST_IN_A_ROW
    found: list[Area] = []
    top = 8.0
    for title, row in _rows(state.phases):
        top += 24 if title else 0
        middle = top + _HEAD + _CHAMBER + TRAVEL / 2
        found += [
            Area(f"cylinder {phase.cylinder}", (_LEFT + column * (place + 0.5), middle), 46.0)
            for place, phase in enumerate(row)
        ]
        top += _ROW
    return tuple(found)


def _check(state: CylinderPhases) -> None:
    for phase in state.phases:
        if not -0.02 * state.stroke_mm <= phase.drop_mm <= 1.02 * state.stroke_mm:
            raise InputError(
                f"the piston of cylinder {phase.cylinder} would leave its stroke.",
                field="drop_mm",
                value=phase.drop_mm,
                remedy=f"Give 0 to the stroke, {state.stroke_mm} mm.",
            )


def _described(phase: Phase, stroke_mm: float) -> str:
    tenths = round(10 * phase.drop_mm / stroke_mm)
    where = {0: "at or close to TDC", 10: "at or close to BDC"}.get(
        tenths, f"about {tenths} tenths of its stroke below TDC"
    )
    moving = f", moving {phase.moving}" if phase.moving else ""
    stroke = ""
    if phase.asked:
        stroke = ", stroke asked"
    elif phase.shown:
        stroke = f", {phase.stroke} stroke"
    measured = ", its drop is asked" if phase.measured else ""
    return f"Cylinder {phase.cylinder}: piston {where}{moving}{stroke}{measured}."


def _rows(phases: tuple[Phase, ...]) -> list[tuple[str, tuple[Phase, ...]]]:
    banks = dict.fromkeys(phase.bank for phase in phases)
    rows = []
    for bank in banks:
        row = tuple(phase for phase in phases if phase.bank == bank)
        count = -(-len(row) // MOST_IN_A_ROW)
        length = -(-len(row) // count)
        for number in range(count):
            title = bank if number == 0 else ""
            rows.append((title, row[number * length : (number + 1) * length]))
    return rows


def _row(row: tuple[Phase, ...], stroke_mm: float, top: float, *, solution: bool) -> list[Shape]:
    tdc, bdc = top + _HEAD + _CHAMBER, top + _HEAD + _CHAMBER + TRAVEL
    right = parts.WIDTH - 8
    column = (right - _LEFT) / MOST_IN_A_ROW
    end = _LEFT + column * len(row)
    shapes: list[Shape] = []
    for height, word in ((tdc, "TDC"), (bdc, "BDC")):
        shapes.append(Lines((((_LEFT - 4, height), (end, height)),), parts.HIDDEN))
        shapes.append(Label((_LEFT - 8, height + 6), word, anchor=Anchor.END, ink=Ink.FAINT))
    for place, phase in enumerate(row):
        middle = _LEFT + column * (place + 0.5)
        shapes += _cylinder(phase, stroke_mm, middle, top, solution=solution)
    return shapes


def _cylinder(
    phase: Phase, stroke_mm: float, middle: float, top: float, *, solution: bool
) -> list[Shape]:
    tdc = top + _HEAD + _CHAMBER
    crown = tdc + TRAVEL * phase.drop_mm / stroke_mm
    bottom = tdc + TRAVEL + _PISTON * 0.72
    return [
        *_number(phase, middle, top),
        *_walls(middle, top + _HEAD, bottom),
        *_piston(phase, middle, crown, bottom + 22),
        *_moving(phase, middle, crown),
        *_measured(phase, middle, tdc, crown, solution=solution),
        *_stroke(phase, middle, top + _ROW - 14, solution=solution),
    ]


def _number(phase: Phase, middle: float, top: float) -> list[Shape]:
    return [
        Circle((middle, top + 14), 13, parts.OPEN_EDGE),
        Label((middle, top + 20), str(phase.cylinder), bold=True),
    ]


def _walls(middle: float, head: float, bottom: float) -> list[Shape]:
    inner, outer = _BORE / 2, _BORE / 2 + _WALL
    left, right = middle - inner, middle + inner
    return [
        parts.hatched(middle - outer, head, left, bottom),
        parts.hatched(right, head, middle + outer, bottom),
        parts.hatched(middle - outer, head - _WALL, middle + outer, head),
        Polyline(
            ((left, bottom), (left, head), (right, head), (right, bottom)),
            Style(Ink.LINE, weight=Weight.THICK),
            name=f"bore {middle:.0f}",
        ),
    ]


def _piston(phase: Phase, middle: float, crown: float, foot: float) -> list[Shape]:
    left, right = middle - _BORE / 2 + 2, middle + _BORE / 2 - 2
    pin = crown + _PISTON * 0.62
    grooves = tuple(((left, crown + down), (right, crown + down)) for down in (6, 11, 16))
    return [
        Polyline(
            ((middle - 5, pin), (middle - 7, foot), (middle + 7, foot), (middle + 5, pin)),
            parts.EDGE,
        ),
        parts.rectangle(
            left,
            crown,
            right,
            crown + _PISTON,
            Style(Ink.LINE, Ink.SHADE),
            name=f"piston {phase.cylinder}",
        ),
        Lines(grooves, parts.FINE),
        Circle((middle, pin), 6, parts.EDGE),
    ]


def _moving(phase: Phase, middle: float, crown: float) -> list[Shape]:
    if not phase.moving:
        return []
    x = middle + _BORE / 2 - 13
    ends = ((x, crown + 38), (x, crown + 19))
    start, end = ends if phase.moving == "up" else ends[::-1]
    return [Arrow(start, end, parts.OPEN_EDGE, name=f"moving {phase.cylinder}")]


def _measured(
    phase: Phase, middle: float, tdc: float, crown: float, *, solution: bool
) -> list[Shape]:
    if not phase.measured:
        return []
    ink = Ink.SOLUTION if solution else Ink.ACCENT
    x = middle - _BORE / 2 + 14
    text = f"{phase.drop_mm:.1f}" if solution else "?"
    shapes: list[Shape] = []
    if crown - tdc > 24:
        shapes.append(Arrow((x, tdc), (x, crown), Style(ink), name="drop"))
    at = (middle + 8, max((tdc + crown) / 2 + 6, tdc - 2 if crown - tdc < 20 else 0))
    return [*shapes, Label(at, text, ink=ink, bold=True, halo=True, name="drop")]


def _stroke(phase: Phase, middle: float, base: float, *, solution: bool) -> list[Shape]:
    if phase.asked and not solution:
        frame = parts.rectangle(
            middle - 15, base - 18, middle + 15, base + 6, Style(Ink.ACCENT), name="asked"
        )
        return [frame, Label((middle, base), "?", 18, ink=Ink.ACCENT, bold=True)]
    if phase.asked:
        return [Label((middle, base), phase.stroke, ink=Ink.SOLUTION, bold=True, name="stroke")]
    if phase.shown:
        return [Label((middle, base), phase.stroke, name="stroke")]
    return []
