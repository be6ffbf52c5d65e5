"""The front view of all drives of an engine on the timing bench, in the marks position.

Sprockets turn about their centres and chains run pin by pin, belts tooth by tooth with all rollers
that they turn; guides, tensioners, names and the pointers that the marks face stay where they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

from quizsvc.figures import belt_line, drive_state, parts, placing
from quizsvc.figures.bench_parts import SAMPLES, BeltTrack, Drawing, Part, Piece, Track, Way
from quizsvc.figures.chain_line import Sight, fitted, pin_places
from quizsvc.figures.drive_state import DriveView, ViewWheel
from quizsvc.figures.drive_view import is_shoe, plunger, roller, shoe
from quizsvc.figures.from_sheet import drive_view
from quizsvc.figures.scene import (
    Arc,
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
from quizsvc.sheets.bench_columns import TURN
from quizsvc.sheets.bench_state import pitches_per_turn, turns_by_friction, wheel_key
from quizsvc.sheets.schema import Drive, EngineSheet, Shaft, ShaftKind, Wheel
from quizsvc.sheets.state import crank_of, shaft_of

WIDTH, TOP, TALLEST, SIDE, BOTTOM = 520.0, 40.0, 560.0, 34.0, 40.0
NAME_WIDTH = 120.0
_POINTER = Style(Ink.LINE, Ink.PAPER, Weight.MEDIUM)


@lru_cache(32)
def drawing(sheet: EngineSheet) -> Drawing:
    """Return the front view with its moving parts."""
    views = [(drive, drive_view(sheet, drive.id)) for drive in sheet.drives]
    sight = _sight([view for _, view in views])
    pieces: list[Piece] = [_fixed(views, sight)]
    for drive, view in views:
        pieces += _wheels(sheet, drive, view, sight)
        pieces.append((_belt if view.belt else _track)(sheet, drive, view, sight))
        pieces += _marks(drive, view, sight)
    pieces.append(Part(tuple(_pointers(views, sight))))
    pieces.append(Part(tuple(_names(sheet, views, sight))))
    pieces.append(_handle(sheet, views, sight))
    return Drawing("drive", WIDTH, _bottom([view for _, view in views], sight), tuple(pieces))


def _sight(views: list[DriveView]) -> Sight:
    rounds = [
        (wheel.x_mm, wheel.y_mm, wheel.radius_mm + view.pitch_mm)
        for view in views
        for wheel in view.wheels
        if not is_shoe(view, wheel)
    ]
    return fitted(rounds, (SIDE, TOP, WIDTH - SIDE, TOP + TALLEST))


def _bottom(views: list[DriveView], sight: Sight) -> float:
    lowest = min(w.y_mm - w.radius_mm for v in views for w in v.wheels if not is_shoe(v, w))
    return round(sight.at((0, lowest))[1] + BOTTOM)


def _fixed(views: list[tuple[Drive, DriveView]], sight: Sight) -> Part:
    """Draw guides, blades, tensioners and plain rollers, which stay."""
    shapes: list[Shape] = []
    for drive, view in views:
        shown = drive.tensioner.extension_new_mm if drive.tensioner else None
        if shown is not None and not view.belt:
            shapes += plunger(_extended(view, shown), sight)
        for index, wheel in enumerate(view.wheels):
            if is_shoe(view, wheel):
                shapes.append(shoe(view, index, sight))
            elif wheel.part == "tensioner" and view.belt:
                shapes += roller(view, index, sight)
            elif not wheel.teeth and not view.belt:
                centre = sight.at((wheel.x_mm, wheel.y_mm))
                shapes.append(Circle(centre, wheel.radius_mm * sight.scale - 3, parts.EDGE))
                shapes += parts.hub(centre, min(18.0, wheel.radius_mm * sight.scale * 0.35))
    return Part(tuple(shapes))


def _extended(view: DriveView, extension_mm: float) -> DriveView:
    return DriveView(view.wheels, view.clockwise, view.pitch_mm, extension_mm=extension_mm)


def _wheels(sheet: EngineSheet, drive: Drive, view: DriveView, sight: Sight) -> Iterator[Part]:
    crank = crank_of(sheet).id
    for index, (wheel, seen) in enumerate(zip(drive.wheels, view.wheels, strict=True)):
        centre = sight.at((seen.x_mm, seen.y_mm))
        if seen.teeth:
            shapes = _toothed(view, index, centre, sight)
        elif turns_by_friction(drive, wheel) and not is_shoe(view, seen):
            shapes = _roller(view, index, centre, sight)
        else:
            continue
        yield _turning(drive, wheel, centre, shapes, handle=wheel.shaft == crank)


def _toothed(view: DriveView, index: int, centre: Point, sight: Sight) -> list[Shape]:
    wheel, radius = view.wheels[index], view.wheels[index].radius_mm * sight.scale
    seat, pitch = drive_state.seat_deg(view, index), view.pitch_mm * sight.scale
    if view.belt:
        outline = belt_line.grooved(centre, wheel.teeth, pitch, radius, seat, "")
    else:
        outline = parts.toothed(centre, wheel.teeth, pitch, seat, "")
    hub = parts.hub(centre, min(16.0, radius * 0.28))
    return [outline, _spokes(centre, radius), *hub]


def _roller(view: DriveView, index: int, centre: Point, sight: Sight) -> list[Shape]:
    """Draw a roller with spokes, so that its turning is seen; a tensioner's rim is its own part."""
    wheel, pitch = view.wheels[index], view.pitch_mm * sight.scale
    radius = belt_line.plain_radius(wheel.radius_mm * sight.scale, pitch, back=wheel.back)
    if wheel.part == "tensioner":
        return [_spokes(centre, radius, (0.68, 0.94))]
    return [
        Circle(centre, radius, parts.EDGE),
        _spokes(centre, radius),
        *parts.hub(centre, min(16.0, radius * 0.3)),
    ]


def _spokes(centre: Point, radius: float, reach: tuple[float, float] = (0.4, 0.66)) -> Lines:
    strokes = tuple(
        (at_clock(centre, radius * reach[0], deg), at_clock(centre, radius * reach[1], deg))
        for deg in range(30, 390, 60)
    )
    return Lines(strokes, parts.FINE)


def _turning(
    drive: Drive, wheel: Wheel, centre: Point, shapes: list[Shape], *, handle: bool = False
) -> Part:
    return Part(
        tuple(shapes),
        Way.TURN,
        f"{TURN}{wheel_key(drive, wheel)}",
        x=round(centre[0], 2),
        y=round(centre[1], 2),
        base=wheel.mark.at_deg if wheel.mark else 0.0,
        handle=handle,
    )


def _marks(drive: Drive, view: DriveView, sight: Sight) -> Iterator[Part]:
    """Draw the marks above the chain, so that they are seen wherever they stand."""
    for wheel, seen in zip(drive.wheels, view.wheels, strict=True):
        if seen.mark_deg is None:
            continue
        centre = sight.at((seen.x_mm, seen.y_mm))
        radius = seen.radius_mm * sight.scale
        deep = belt_line.TIP + 0.16 if view.belt else 0.5
        tip = radius - max(4.0, view.pitch_mm * sight.scale * deep)
        mark = parts.mark_pointer(centre, tip, min(22.0, radius * 0.42), seen.mark_deg, "")
        yield _turning(drive, wheel, centre, [mark])


def _pointers(views: list[tuple[Drive, DriveView]], sight: Sight) -> Iterator[Shape]:
    """Draw the fixed pointers that the marks face in the marks position."""
    for _, view in views:
        for wheel in view.wheels:
            if wheel.mark_deg is None:
                continue
            centre = sight.at((wheel.x_mm, wheel.y_mm))
            near = (wheel.radius_mm + view.pitch_mm * 0.55) * sight.scale + 2
            yield _pointer(centre, near, wheel.mark_deg)


def _pointer(centre: Point, near: float, deg: float) -> Shape:
    far = near + 13
    spread = 4.5 / far * 57.3
    corners = (
        at_clock(centre, near, deg),
        at_clock(centre, far, deg + spread),
        at_clock(centre, far, deg - spread),
    )
    return Polyline(corners, _POINTER, closed=True)


def _track(sheet: EngineSheet, drive: Drive, view: DriveView, sight: Sight) -> Track:
    path, pitch = drive_state.path_of(view), drive_state.drawn_pitch(view)
    pins = drive_state.pins_drawn(view)
    fine = [
        point for part in range(SAMPLES) for point in pin_places(path, pitch, part / SAMPLES, pins)
    ]
    points = tuple(sight.at(fine[part * pins + pin]) for pin in range(pins)
                   for part in range(SAMPLES))  # fmt: skip
    at_marks = sheet.marks_position.crank_deg / 360 * pitches_per_turn(sheet, drive)
    return Track(
        drive.id,
        points,
        pins,
        drive_state.first_pin(view) - at_marks,
        drive.marked_links,
        min(4.2, view.pitch_mm * sight.scale * 0.3),
    )


def _belt(sheet: EngineSheet, drive: Drive, view: DriveView, sight: Sight) -> BeltTrack:
    path, pitch = drive_state.path_of(view), drive_state.drawn_pitch(view)
    teeth = drive_state.pins_drawn(view)
    tips, roots, back = (
        tuple(
            sight.at(belt_line.offset_at(path, sample / SAMPLES * pitch, depth * pitch))
            for sample in range(teeth * SAMPLES)
        )
        for depth in (belt_line.TIP, belt_line.LAND, -belt_line.BACK)
    )
    at_marks = sheet.marks_position.crank_deg / 360 * pitches_per_turn(sheet, drive)
    return BeltTrack(
        drive.id,
        tips,
        roots,
        back,
        teeth,
        drive_state.first_pin(view) - at_marks,
        drive.marked_links,
        0.5 * pitch * sight.scale,
    )


def _names(sheet: EngineSheet, views: list[tuple[Drive, DriveView]], sight: Sight) -> list[Shape]:
    """Name each shaft once, at its largest wheel, clear of every chain."""
    largest: dict[str, ViewWheel] = {}
    for drive, view in views:
        for wheel, seen in zip(drive.wheels, view.wheels, strict=True):
            if wheel.shaft and (seen.teeth or view.belt):
                now = largest.get(wheel.shaft)
                largest[wheel.shaft] = (
                    seen if now is None or seen.radius_mm > now.radius_mm else now
                )
    things = [
        placing.Named(
            tuple(parts.wrapped(_name(sheet, shaft_of(sheet, shaft)), NAME_WIDTH)),
            sight.at((seen.x_mm, seen.y_mm)),
            (seen.radius_mm + 6) * sight.scale + 6,
        )
        for shaft, seen in largest.items()
    ]
    dots = [sight.at(p) for _, view in views if view.pitch_mm for p in drive_state.loop(view)]
    dots += [point for shape in _fixed(views, sight).shapes for point in _edge(shape)]
    dots += [point for shape in _pointers(views, sight) for point in _edge(shape)]
    dots += [point for shape in _handle(sheet, views, sight).shapes for point in _edge(shape)]
    bounds = (4.0, 2.0, WIDTH - 4, _bottom([view for _, view in views], sight) - 2)
    named = placing.named(things, bounds, dots=dots)
    return [_lighter(shape) for shape in named]


def _name(sheet: EngineSheet, shaft: Shaft) -> str:
    """Name a camshaft by what it opens and its bank: there is little room between wheels."""
    if shaft.kind is not ShaftKind.CAM:
        return shaft.title
    bank = f" {shaft.bank.upper()}" if shaft.bank and len(sheet.layout.banks) > 1 else ""
    return " and ".join(shaft.carries).capitalize() + bank


def _edge(shape: Shape) -> list[Point]:
    """Return points along a shape's edge that no word may cover."""
    if isinstance(shape, Arc):
        steps = range(9)
        return [
            at_clock(shape.centre, shape.radius, shape.start_deg + shape.sweep_deg * step / 8)
            for step in steps
        ]
    if not isinstance(shape, Polyline):
        return []
    pairs = zip(shape.points, (*shape.points[1:], shape.points[0]), strict=True)
    return [
        (x0 + part / 4 * (x1 - x0), y0 + part / 4 * (y1 - y0))
        for (x0, y0), (x1, y1) in pairs
        for part in range(4)
    ]


def _lighter(shape: Shape) -> Shape:
    if isinstance(shape, Label):
        return Label(shape.at, shape.text, 15, shape.anchor, Ink.FAINT, halo=True)
    return shape


def _handle(sheet: EngineSheet, views: list[tuple[Drive, DriveView]], sight: Sight) -> Part:
    """Show that the crank sprocket can be taken hold of: a fine ring with two arrow heads."""
    crank = crank_of(sheet).id
    wheel, seen = next(
        (wheel, seen)
        for drive, view in views
        for wheel, seen in zip(drive.wheels, view.wheels, strict=True)
        if wheel.shaft == crank
    )
    centre, radius = sight.at((seen.x_mm, seen.y_mm)), seen.radius_mm * sight.scale
    away = (wheel.mark.at_deg if wheel.mark else 180.0) + 180
    grip = Circle(centre, radius + 22, Style(Ink.NONE, Ink.NONE))
    way = 1 if views[0][1].clockwise else -1
    ink = Style(Ink.ACCENT, weight=Weight.MEDIUM)
    arrow = parts.turning_arrow(centre, radius + 22, away + way * 100, way * 50, ink)
    return Part((grip, *arrow), handle=True)
