"""A whole chain or belt drive from the front: wheels, chain pin by pin, marks, tensioner.

A toothed belt shows its flat back and every tooth. Chain and belt lie where the core's drive path
lays them; the pin or tooth at the driver's mark is number 0.
"""

from __future__ import annotations

from math import dist, hypot, pi

from quizsvc.figures import belt_line, drive_state, parts, placing, strand_rows
from quizsvc.figures.chain_line import Sight, fitted, strand_shapes
from quizsvc.figures.drive_state import DriveView, ViewWheel, counted_pins, describe, path_of
from quizsvc.figures.lettering import box
from quizsvc.figures.scene import (
    Area,
    Circle,
    Ink,
    Label,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

__all__ = [
    "DriveView",
    "ViewWheel",
    "counted_pins",
    "describe",
    "draw",
    "is_shoe",
    "places",
    "plunger",
    "shoe",
]

TOP, TALLEST, SIDE = 62.0, 620.0, 62.0
FLATTER = 4.0  # a plain wheel larger than so many pitches is a guide's or blade's face
ROLLER = 8.0  # the same of a toothed belt, whose tensioners are rollers
NAME_WIDTH = 146.0
LEAST_PITCH = 8.0  # mm taken for a belt, which has no pitch, in the line above


def draw(state: DriveView, *, solution: bool = False) -> Scene:
    """Draw the drive; the solution names lettered wheels and numbers the counted pins."""
    sight = _sight(state)
    pins = [sight.at(place) for place in drive_state.loop(state)] if state.pitch_mm else []
    shapes: list[Shape] = [*_wheels(state, sight), *plunger(state, sight)]
    shapes += _loop(state, sight, pins)
    shapes += [*_marks(state, sight), *_turning(state, sight)]
    numbers = _numbers(state, pins) if solution else []
    shapes += [*numbers, *_names(state, sight, pins, numbers, solution=solution)]
    bottom = _bottom(state, sight)
    countable = strand_rows.BELT_SPACING if state.belt else strand_rows.SPACING
    if state.counted and state.pitch_mm * sight.scale < countable:
        rows, bottom = strand_rows.enlarged(
            counted_pins(state), state.counted, bottom, solution=solution, belt=state.belt
        )
        shapes += rows
    words, height = parts.caption(_caption(state), bottom)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def places(state: DriveView) -> tuple[Area, ...]:
    """Return each wheel as a named place to point at."""
    sight = _sight(state)
    return tuple(
        Area(wheel.label or wheel.name, *_disc(state, index, sight))
        for index, wheel in enumerate(state.wheels)
    )


def _disc(state: DriveView, index: int, sight: Sight) -> tuple[Point, float]:
    wheel = state.wheels[index]
    centre = sight.at((wheel.x_mm, wheel.y_mm))
    if not is_shoe(state, wheel):
        return centre, max(18.0, wheel.radius_mm * sight.scale)
    return at_clock(centre, wheel.radius_mm * sight.scale - 8, _middle_deg(state, index)), 22.0


def _middle_deg(state: DriveView, index: int) -> float:
    """Return the direction of the middle of the chain's contact with a wheel."""
    arc = path_of(state).arcs[index]
    return arc.start_deg + (1 if state.clockwise else -1) * arc.wrap_deg / 2


def is_shoe(state: DriveView, wheel: ViewWheel) -> bool:
    """Say whether a wheel stands for the face of a guide or blade, too flat to be round."""
    flatter = ROLLER if state.belt else FLATTER  # a belt's plain wheels are rollers
    return not wheel.teeth and wheel.radius_mm > flatter * max(state.pitch_mm, LEAST_PITCH)


def _sight(state: DriveView) -> Sight:
    rounds = [
        (w.x_mm, w.y_mm, w.radius_mm + state.pitch_mm / 2)
        for w in state.wheels
        if not is_shoe(state, w)
    ]
    return fitted(rounds, (SIDE, TOP, parts.WIDTH - SIDE, TOP + TALLEST))


def _bottom(state: DriveView, sight: Sight) -> float:
    rounds = [w for w in state.wheels if not is_shoe(state, w)]
    return max(sight.at((0, w.y_mm - w.radius_mm))[1] for w in rounds) + 56


def _chain(state: DriveView, sight: Sight, loop: list[Point]) -> list[Shape]:
    radius = min(4.6, state.pitch_mm * sight.scale * 0.27)
    solid = drive_state.counted_numbers(state)
    marked = {number % len(loop) for number in state.marked_pins}
    shapes: list[Shape] = [
        Polyline(tuple(loop), Style(Ink.LINE, weight=Weight.THIN), closed=True, name="chain"),
        parts.pins(loop, radius * 0.75, parts.OPEN_PIN, "pins"),
    ]
    if solid:
        shapes.append(parts.pins([loop[n] for n in solid], radius, parts.SOLID_PIN, "counted"))
    if marked:
        style = Style(Ink.MARK, Ink.MARK, Weight.MEDIUM)
        for number in sorted(marked):
            after = loop[(number + 1) % len(loop)]
            shapes.append(Polyline((loop[number], after), Style(Ink.MARK, weight=Weight.THICK)))
        shapes.append(
            parts.pins([loop[n] for n in sorted(marked)], radius + 1, style, "marked links")
        )
    return shapes


def _loop(state: DriveView, sight: Sight, pins: list[Point]) -> list[Shape]:
    if not pins:
        return _plain_belt(state, sight)
    return _toothed_belt(state, sight) if state.belt else _chain(state, sight, pins)


def _toothed_belt(state: DriveView, sight: Sight) -> list[Shape]:
    path, pitch = path_of(state), drive_state.drawn_pitch(state)
    first, count = drive_state.first_pin(state), drive_state.pins_drawn(state)
    counted, marked = drive_state.counted_numbers(state), sorted(set(state.marked_pins))
    solid, coloured = belt_line.SOLID_TOOTH, belt_line.MARKED_TOOTH
    lines = Style(Ink.MARK, weight=Weight.THICK)
    return [
        *belt_line.belt_shapes(path, sight, pitch, first, count),
        *(belt_line.tooth_shape(path, sight, pitch, first + tooth, solid, "counted tooth")
          for tooth in counted),
        *(belt_line.tooth_shape(path, sight, pitch, first + tooth, coloured, "marked tooth")
          for tooth in marked if tooth not in counted),
        *(belt_line.back_line(path, sight, pitch, first + tooth, lines) for tooth in marked),
    ]  # fmt: skip


def _plain_belt(state: DriveView, sight: Sight) -> list[Shape]:
    return strand_shapes(path_of(state), sight, Style(Ink.LINE, weight=Weight.THICK), "belt")


def _numbers(state: DriveView, loop: list[Point]) -> list[Label]:
    """Number every tenth counted pin and the last, outside the loop."""
    numbers = drive_state.counted_numbers(state)
    last = len(numbers) - 1
    return [
        Label(_beside(state, loop, numbers[pin]), str(pin), ink=Ink.SOLUTION, bold=True,
              halo=True, name="pin number")
        for pin in (*range(10, last - 3, 10), last)
        if numbers
    ]  # fmt: skip


def _beside(state: DriveView, loop: list[Point], pin: int) -> Point:
    """Return a place for a word beside a pin: outside the loop, but not on a belt's roller."""
    place = _outside(state, loop, pin)
    if not state.belt:
        return place
    sight = _sight(state)
    on_roller = any(
        wheel.back
        and dist(place, sight.at((wheel.x_mm, wheel.y_mm))) < wheel.radius_mm * sight.scale
        for wheel in state.wheels
    )
    return _outside(state, loop, pin, reach=-20) if on_roller else place


def _outside(state: DriveView, loop: list[Point], pin: int, reach: float = 18.0) -> Point:
    """Return a place for a word beside a pin, on the side away from the inside of the loop."""
    (x0, y0), (x1, y1) = loop[pin - 1], loop[(pin + 1) % len(loop)]
    length = hypot(x1 - x0, y1 - y0) or 1.0
    way = reach / length if state.clockwise else -reach / length
    return loop[pin][0] + (y1 - y0) * way, loop[pin][1] - (x1 - x0) * way + 6


def _names(
    state: DriveView, sight: Sight, pins: list[Point], numbers: list[Label], *, solution: bool
) -> list[Shape]:
    things = [_named(state, index, sight, solution=solution) for index in range(len(state.wheels))]
    solids = [point for shape in plunger(state, sight) for point in _outline(shape)]
    solids += [
        point
        for index, wheel in enumerate(state.wheels)
        if is_shoe(state, wheel)
        for point in _outline(shoe(state, index, sight))
    ]
    bounds = (4.0, 4.0, parts.WIDTH - 4, _bottom(state, sight) - 2)
    taken = [box(label) for label in numbers]
    return placing.named(things, bounds, dots=[*pins, *solids], taken=taken)


def _named(state: DriveView, index: int, sight: Sight, *, solution: bool) -> placing.Named:
    wheel = state.wheels[index]
    centre, radius = _disc(state, index, sight)
    radius = 8.0 if is_shoe(state, wheel) else radius
    if not wheel.label:
        text = f"{wheel.name}, {wheel.teeth}\u00a0teeth" if wheel.teeth else wheel.name
        lines = [line.rstrip(",") for line in parts.wrapped(text, NAME_WIDTH)]
        return placing.Named(tuple(lines), centre, radius)
    if solution:
        lines = parts.wrapped(wheel.name, NAME_WIDTH)
        return placing.Named((wheel.label, *lines), centre, radius, Ink.SOLUTION)
    return placing.Named((wheel.label,), centre, radius, Ink.ACCENT)


def _outline(shape: Shape) -> list[Point]:
    """Return points along a shape's edge, close enough for a word not to slip between."""
    if not isinstance(shape, Polyline):
        return []
    pairs = zip(shape.points, (*shape.points[1:], shape.points[0]), strict=True)
    return [
        (a[0] + part / 3 * (b[0] - a[0]), a[1] + part / 3 * (b[1] - a[1]))
        for a, b in pairs
        for part in range(3)
    ]


def _wheels(state: DriveView, sight: Sight) -> list[Shape]:
    shapes: list[Shape] = []
    for index, wheel in enumerate(state.wheels):
        name, centre = f"wheel {wheel.name}", sight.at((wheel.x_mm, wheel.y_mm))
        radius = wheel.radius_mm * sight.scale
        if is_shoe(state, wheel):
            shapes.append(shoe(state, index, sight))
        elif wheel.teeth and state.pitch_mm:
            shapes.append(_outlined(state, index, sight, name))
            shapes += parts.hub(centre, min(22.0, radius * 0.28))
        elif state.belt:
            shapes += roller(state, index, sight)
        else:
            inside = 0 if not state.pitch_mm else 3
            shapes.append(Circle(centre, max(3.0, radius - inside), parts.EDGE, name=name))
            shapes += parts.hub(centre, min(18.0, radius * 0.35))
    return shapes


def _outlined(state: DriveView, index: int, sight: Sight, name: str) -> Shape:
    """Return the outline of a sprocket, or of a pulley with its grooves."""
    wheel, pitch = state.wheels[index], state.pitch_mm * sight.scale
    centre, seat = sight.at((wheel.x_mm, wheel.y_mm)), drive_state.seat_deg(state, index)
    if state.belt:
        radius = wheel.radius_mm * sight.scale
        return belt_line.grooved(centre, wheel.teeth, pitch, radius, seat, name)
    return parts.toothed(centre, wheel.teeth, pitch, seat, name)


def roller(state: DriveView, index: int, sight: Sight) -> list[Shape]:
    """Draw a plain roller of a toothed belt; a tensioner's turns on an eccentric."""
    wheel, pitch = state.wheels[index], state.pitch_mm * sight.scale
    centre, radius = sight.at((wheel.x_mm, wheel.y_mm)), wheel.radius_mm * sight.scale
    drawn = belt_line.plain_radius(radius, pitch, back=wheel.back)
    rim = Circle(centre, drawn, parts.EDGE, name=f"wheel {wheel.name}")
    if wheel.part != "tensioner":
        return [rim, *parts.hub(centre, min(18.0, drawn * 0.35))]
    pivot = at_clock(centre, drawn * 0.28, _middle_deg(state, index) + 160)
    return [
        rim,
        Circle(centre, drawn * 0.62, Style(Ink.LINE, Ink.PAPER, Weight.THIN)),
        Circle(pivot, drawn * 0.2, parts.OPEN_EDGE, name="eccentric"),
        Circle(pivot, 2.0, parts.SOLID_PIN),
    ]


def shoe(state: DriveView, index: int, sight: Sight) -> Shape:
    """Draw the curved face of a guide or blade as a band on its side of the chain."""
    wheel = state.wheels[index]
    centre, radius = sight.at((wheel.x_mm, wheel.y_mm)), wheel.radius_mm * sight.scale
    beyond = 14 / radius * 180 / pi
    sweep = abs(path_of(state).arcs[index].wrap_deg) + 2 * beyond
    first = _middle_deg(state, index) - sweep / 2
    steps = [first + sweep * step / 10 for step in range(11)]
    face = [at_clock(centre, radius - 5, deg) for deg in steps]
    rear = [at_clock(centre, radius - 12, deg) for deg in reversed(steps)]
    style = Style(Ink.LINE, Ink.SHADE, Weight.THIN)
    return Polyline((*face, *rear), style, closed=True, name=f"wheel {wheel.name}")


def plunger(state: DriveView, sight: Sight) -> list[Shape]:
    """Draw the tensioner's body and plunger behind the wheel or shoe that it presses."""
    index = next((i for i, w in enumerate(state.wheels) if w.part == "tensioner"), None)
    if index is None or state.extension_mm < 0:
        return []
    tip, _ = _disc(state, index, sight)
    away = _middle_deg(state, index) + 180
    start = at_clock(tip, 4, away)
    reach = 14 + state.extension_mm * sight.scale
    body = at_clock(start, reach, away)
    shapes = [
        _bar(start, body, 7, Style(Ink.LINE, Ink.METAL, Weight.THIN), "plunger"),
        _bar(body, at_clock(body, 34, away), 14, parts.EDGE, "tensioner body"),
    ]
    if 0 <= state.groove_at_mm <= state.extension_mm:
        at = at_clock(start, 10 + state.groove_at_mm * sight.scale, away)
        shapes.append(_bar(at, at_clock(at, 2.4, away), 8, parts.MARKING, "groove"))
    return shapes


def _bar(start: Point, end: Point, half: float, style: Style, name: str) -> Shape:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = hypot(dx, dy) or 1.0
    nx, ny = -dy / length * half, dx / length * half
    return Polyline(
        (
            (start[0] + nx, start[1] + ny),
            (end[0] + nx, end[1] + ny),
            (end[0] - nx, end[1] - ny),
            (start[0] - nx, start[1] - ny),
        ),
        style,
        closed=True,
        name=name,
    )


def _marks(state: DriveView, sight: Sight) -> list[Shape]:
    shapes: list[Shape] = []
    for wheel in state.wheels:
        if wheel.mark_deg is None:
            continue
        radius = wheel.radius_mm * sight.scale
        centre = sight.at((wheel.x_mm, wheel.y_mm))
        deep = belt_line.TIP + 0.16 if state.belt else 0.36
        tip = radius - max(3.0, state.pitch_mm * sight.scale * deep)
        length = min(20.0, radius * 0.42)
        shapes.append(parts.mark_pointer(centre, tip, length, wheel.mark_deg, f"mark {wheel.name}"))
    return shapes


def _turning(state: DriveView, sight: Sight) -> list[Shape]:
    wheel = state.wheels[state.driver]
    centre = sight.at((wheel.x_mm, wheel.y_mm))
    radius = wheel.radius_mm * sight.scale
    sweep = 100 if state.clockwise != wheel.back else -100
    away = (wheel.mark_deg or 0) + 180
    return parts.turning_arrow(centre, radius * 0.55, away - sweep / 2, sweep, parts.FINE)


def _caption(state: DriveView) -> str:
    turning = "clockwise" if state.clockwise else "anticlockwise"
    wedge = " A wedge is a mark." if any(w.mark_deg is not None for w in state.wheels) else ""
    coloured = "lines: marked belt teeth" if state.belt else "pairs of pins: marked links"
    links = f" Coloured {coloured}." if state.marked_pins else ""
    text = f"Seen from the {state.end}; the loop runs {turning}.{wedge}{links}"
    return f"{text} {state.note}" if state.note else text
