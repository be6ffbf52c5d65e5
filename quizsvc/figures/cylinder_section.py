"""One cylinder cut open at a crank angle: piston, rod, crank, and valves at their true lift.

The piston's height and the rod's lean are the slider-crank's, the valves stand in the head as
their tilt and recess say; one scale holds for all of it.
"""

from __future__ import annotations

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.chain_line import Sight
from quizsvc.figures.lettering import text_width
from quizsvc.figures.scene import (
    Anchor,
    Arc,
    Area,
    Circle,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)
from quizsvc.figures.section_state import (
    HEAD_MM,
    PIN_DOWN_MM,
    QUESTIONS,
    SKIRT_MM,
    CylinderSection,
    crown_mm,
    describe,
    drop_mm,
    gap_mm,
    joints,
    letters,
    named_places,
)
from quizsvc.figures.section_valves import (
    SectionValve,
    lowest_mm,
    pocket_span_mm,
    roof_mm,
    valve_shapes,
)

__all__ = [
    "QUESTIONS",
    "CylinderSection",
    "describe",
    "draw",
    "gap_mm",
    "letters",
    "places",
]

TALLEST = 520.0
_TOP = 16.0


def draw(state: CylinderSection, *, solution: bool = False) -> Scene:
    if state.asked not in QUESTIONS:
        raise InputError(
            "there is no such question.",
            field="asked",
            value=state.asked,
            remedy=f"Give one of {', '.join(map(repr, QUESTIONS))}.",
        )
    sight = _sight(state)
    shapes: list[Shape] = [
        *_block(state, sight),
        *_crank(state, sight),
        *_piston(state, sight),
        *_head(state, sight),
        *_touching(state, sight),
    ]
    if state.lettered:
        shapes += _plates(state, sight, solution=solution)
    else:
        shapes += _angle(state, sight, solution=solution)
        shapes += _asked(state, sight, solution=solution)
    words, height = parts.caption(
        state.note or _caption(state),
        _TOP + TALLEST + 30,
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _caption(state: CylinderSection) -> str:
    seen = f"Seen from the {state.end}, turning clockwise."
    return seen if state.lettered else f"{seen} Left: intake, right: exhaust."


def places(state: CylinderSection) -> tuple[Area, ...]:
    """Return the parts that can be pointed at, named as the figure names them."""
    sight = _sight(state)
    reach = max(14.0, 8 * sight.scale)
    named = letters(state)
    return tuple(
        Area(named[name] if state.lettered else name, sight.at(place), reach)
        for name, place in named_places(state)
    )


def _plates(state: CylinderSection, sight: Sight, *, solution: bool) -> list[Shape]:
    """Write a letter on each part; the solution lists which part each is."""
    shapes: list[Shape] = []
    named = letters(state)
    for number, (name, place) in enumerate(named_places(state)):
        x, y = sight.at(place)
        plate = Style(Ink.ACCENT, Ink.PAPER)
        shapes += [
            Circle((x, y), 12, plate, name=f"plate {named[name]}"),
            Label((x, y + 6), named[name], ink=Ink.ACCENT, bold=True),
        ]
        if solution:
            at = (parts.MARGIN, _TOP + 232 + parts.LINE_HEIGHT * number)
            text = f"{named[name]} {name}"
            shapes.append(Label(at, text, anchor=Anchor.START, ink=Ink.SOLUTION, halo=True))
    return shapes


def _sight(state: CylinderSection) -> Sight:
    low = state.crown_below_mm + PIN_DOWN_MM + state.rod_mm + state.stroke_mm * 1.22 + 14
    scale = TALLEST / (HEAD_MM + low)
    return Sight(scale, parts.WIDTH / 2 + 10, _TOP + HEAD_MM * scale)


def _block(state: CylinderSection, sight: Sight) -> list[Shape]:
    half, low = state.bore_mm / 2, -(state.stroke_mm + SKIRT_MM * 0.9)
    shapes: list[Shape] = []
    for side in (-1, 1):
        inner, outer = half * side, (half + 9) * side
        left, top = sight.at((min(inner, outer), 0))
        right, bottom = sight.at((max(inner, outer), low))
        wall = ((inner, low), (inner, 0.0), (outer, 0.0))
        shapes += [
            parts.hatched(left, top, right, bottom),
            Polyline(tuple(sight.at(p) for p in wall), Style(Ink.LINE, weight=Weight.THICK)),
        ]
    axis = (sight.at((0, HEAD_MM - 4)), sight.at((0, joints(state)[0][1] - 12)))
    return [*shapes, Lines((axis,), parts.CENTRE_LINE)]


def _crank(state: CylinderSection, sight: Sight) -> list[Shape]:
    crank, crankpin, pin = joints(state)
    throw = state.stroke_mm / 2
    weight = at_clock(sight.at(crank), 0.62 * throw * sight.scale, state.crank_deg + 180)
    web = _link(sight.at(crank), sight.at(crankpin), 15 * sight.scale, 11 * sight.scale)
    rod = _link(sight.at(crankpin), sight.at(pin), 9 * sight.scale, 6.5 * sight.scale)
    grey = Style(Ink.LINE, Ink.SHADE)
    return [
        Circle(sight.at(crank), throw * sight.scale, parts.CENTRE_LINE, name="crank circle"),
        Circle(weight, 0.72 * throw * sight.scale, grey),
        Polyline(web, grey, closed=True),
        Circle(sight.at(crank), 13 * sight.scale, parts.EDGE, name="main journal"),
        Polyline(rod, parts.EDGE, closed=True, name="rod"),
        Circle(sight.at(crankpin), 13 * sight.scale, parts.EDGE),
        Circle(sight.at(crankpin), 8 * sight.scale, Style(Ink.LINE, Ink.PAPER), name="crankpin"),
        *parts.turning_arrow(sight.at(crank), 1.34 * throw * sight.scale + 12, 120, 80),
    ]


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


def _piston(state: CylinderSection, sight: Sight) -> list[Shape]:
    half, crown = state.bore_mm / 2 - 0.8, crown_mm(state)
    foot = crown - SKIRT_MM
    top: list[Point] = [(-half, crown)]
    for valve, side in ((state.intake, -1), (state.exhaust, 1)):
        left, right = pocket_span_mm(valve, side, state.bore_mm)
        floor = crown - valve.pocket_mm
        left, right = max(left, -half), min(right, half)
        top += [(left, crown), (left, floor), (right, floor), (right, crown)]
    body = (*top, (half, crown), (half, foot), (-half, foot))
    pin = joints(state)[2]
    rings = tuple(
        (sight.at((-half, crown - down)), sight.at((half, crown - down))) for down in (9, 13, 17)
    )
    return [
        Polyline(tuple(sight.at(p) for p in body), Style(Ink.LINE, Ink.SHADE), closed=True,
                 name="piston"),
        Lines(rings, parts.FINE),
        Circle(sight.at(pin), 8 * sight.scale, parts.EDGE, name="piston pin"),
        Circle(sight.at(pin), 4.5 * sight.scale, Style(Ink.LINE, Ink.PAPER)),
    ]  # fmt: skip


def _head(state: CylinderSection, sight: Sight) -> list[Shape]:
    half = state.bore_mm / 2
    outer = half + 9
    roof = [
        (-half, 0.0),
        *roof_mm(state.intake, -1, state.bore_mm)[1:],
        *reversed(roof_mm(state.exhaust, 1, state.bore_mm)[1:]),
        (half, 0.0),
    ]
    block = (*roof, (outer, 0.0), (outer, HEAD_MM - 16), (-outer, HEAD_MM - 16), (-outer, 0.0))
    return [
        Polyline(tuple(sight.at(p) for p in block), parts.EDGE, closed=True, name="head"),
        *valve_shapes(state.intake, -1, state.bore_mm, sight, Ink.COOL),
        *valve_shapes(state.exhaust, 1, state.bore_mm, sight, Ink.WARM),
    ]


def _touching(state: CylinderSection, sight: Sight) -> list[Shape]:
    """Ring the place where a valve reaches the piston, and say so."""
    shapes: list[Shape] = []
    for valve, side in ((state.intake, -1), (state.exhaust, 1)):
        if gap_mm(state, valve) > 0:
            continue
        x = side * (state.bore_mm / 2 - 6)
        at = sight.at((x, crown_mm(state) - valve.pocket_mm))
        word = (parts.MARGIN + 36 if side < 0 else parts.WIDTH - parts.MARGIN - 36, at[1] + 64)
        shapes += [
            Lines(
                ((at_clock(at, 15, 180 + 60 * -side), (word[0], word[1] - 18)),),
                Style(Ink.ACCENT, weight=Weight.THIN),
            ),
            Circle(at, 15, Style(Ink.ACCENT, weight=Weight.THICK), name="contact"),
            Label(word, "contact", ink=Ink.ACCENT, bold=True, halo=True, name="contact"),
        ]
    return shapes


def _angle(state: CylinderSection, sight: Sight, *, solution: bool) -> list[Shape]:
    asked = state.asked == "angle"
    if not (state.angle_shown or asked):
        return []
    deg = state.crank_deg % 360
    text, ink = parts.shown(f"{parts.plain(deg)}°", asked=asked, solution=solution)
    crank = sight.at(joints(state)[0])
    style = Style(Ink.FAINT if ink is Ink.LINE else ink, weight=Weight.THIN)
    at = (parts.WIDTH - parts.MARGIN, crank[1] - state.stroke_mm * 0.3 * sight.scale)
    after = "after TDC"
    return [
        Arc(crank, 22 * sight.scale, 0, deg, style, name="angle"),
        Label(at, text, anchor=Anchor.END, ink=ink, bold=True, name="angle value"),
        Label((at[0], at[1] + parts.LINE_HEIGHT), after, anchor=Anchor.END, ink=ink),
    ]


def _asked(state: CylinderSection, sight: Sight, *, solution: bool) -> list[Shape]:
    if state.asked == "drop":
        return _drop_dimension(state, sight, solution=solution)
    if state.asked == "intake gap":
        return _gap(state, state.intake, -1, sight, solution=solution)
    if state.asked == "exhaust gap":
        return _gap(state, state.exhaust, 1, sight, solution=solution)
    return []


def _drop_dimension(state: CylinderSection, sight: Sight, *, solution: bool) -> list[Shape]:
    x = sight.at((-state.bore_mm / 2 - 9, 0))[0] - 26
    edge = sight.at((-state.bore_mm / 2, 0))[0]
    top, low = (sight.at((0, y))[1] for y in (-state.crown_below_mm, crown_mm(state)))
    text, ink = parts.shown(f"{parts.plain(drop_mm(state), 2)} mm", asked=True, solution=solution)
    half = text_width(text, parts.TEXT, bold=True) / 2
    word = (max(x - 8, half + 6), low + 24)
    return [
        Lines((((x - 8, top), (edge, top)), ((x - 8, low), (edge, low))),
              Style(Ink.LINE, weight=Weight.THIN, dash=parts.HIDDEN.dash)),
        *parts.dimension((x, top), (x, low), "", ink, name="drop line"),
        Label((x - 12, top + 6), "TDC", anchor=Anchor.END, ink=Ink.FAINT),
        Label(word, text, ink=ink, bold=True, halo=True, name="drop"),
    ]  # fmt: skip


def _gap(
    state: CylinderSection, valve: SectionValve, side: int, sight: Sight, *, solution: bool
) -> list[Shape]:
    gap = gap_mm(state, valve)
    x_mm = side * (state.bore_mm / 2 - 5)
    x = sight.at((x_mm, 0))[0]
    top = sight.at((0, lowest_mm(valve)))[1]
    low = sight.at((0, crown_mm(state) - valve.pocket_mm))[1]
    out = parts.MARGIN + 30 if side < 0 else parts.WIDTH - parts.MARGIN - 30
    text, ink = parts.shown(f"{parts.plain(gap, 2)} mm", asked=True, solution=solution)
    y = (top + low) / 2
    style = Style(ink, weight=Weight.THIN)
    return [
        Lines((((out, top), (x, top)), ((out, low), (x, low))), style, name="gap edges"),
        Lines((((out, top), (out, low)),), style),
        Label((out, max(top, low) + 20 if abs(low - top) < 60 else y + 6), text, ink=ink,
              bold=True, halo=True, name="gap"),
    ]  # fmt: skip
