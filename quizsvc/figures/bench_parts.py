"""A drawing whose parts move: groups of shapes, each with the way it follows a column.

Written as SVG with the way of each part beside it (``data-`` attributes), so that a script only
looks values up and sets transforms; drawn at one state, it stands without script.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from html import escape

from quizsvc.figures.lettering import FAMILY
from quizsvc.figures.palette import LIGHT
from quizsvc.figures.scene import Ink, Point, Shape
from quizsvc.figures.svg import render_shapes

SAMPLES = 6  # points of a track per pitch; between them a straight line is near enough
CHOSEN = "*"  # stands for the chosen cylinder in the name of a column


class Way(StrEnum):
    """How a part moves with the value of its column."""

    STILL = "still"
    TURN = "turn"  # about (x, y), by value − base degrees
    SLIDE = "slide"  # by value × (dx, dy)
    SWING = "swing"  # slides, and leans about (x, y) by the second column


@dataclass(frozen=True, slots=True)
class Part:
    """Shapes that move together."""

    shapes: tuple[Shape, ...]
    way: Way = Way.STILL
    column: str = ""
    x: float = 0.0
    y: float = 0.0
    base: float = 0.0
    dx: float = 0.0
    dy: float = 0.0
    lean: str = ""
    shown_if: str = ""  # a contact, a belt that is on: there only while it is the case
    handle: bool = False  # what a person takes hold of to turn the crank


@dataclass(frozen=True, slots=True)
class Track:
    """A chain: the loop it lies on, sampled, and its pins by number.

    ``first``: pitches along the loop at which pin 0 stands when the chain has not moved.
    """

    drive: str
    points: tuple[Point, ...]
    pins: int
    first: float
    marked: tuple[int, ...]
    radius: float

    def at(self, pitches: float) -> Point:
        """Return the place so many pitches along the loop."""
        return _along(self.points, pitches % self.pins)


@dataclass(frozen=True, slots=True)
class BeltTrack:
    """A toothed belt: the lines on which the tips and roots of its teeth run, and its flat back.

    All three are sampled alike. ``first``: pitches at which the tooth at the driver's mark stands
    when the belt has not moved. ``width`` is that of a tooth.
    """

    drive: str
    tips: tuple[Point, ...]
    roots: tuple[Point, ...]
    back: tuple[Point, ...]
    pins: int
    first: float
    marked: tuple[int, ...]
    width: float


def _along(points: tuple[Point, ...], pitches: float) -> Point:
    place = pitches * SAMPLES
    row = int(place)
    (x0, y0), (x1, y1) = (points[n % len(points)] for n in (row, row + 1))
    part = place - row
    return x0 + part * (x1 - x0), y0 + part * (y1 - y0)


@dataclass(frozen=True, slots=True)
class Trace:
    """Signals over the crank angle, which pass a fixed line."""

    ids: tuple[str, ...]  # of the sensors
    scale: float  # picture units per degree


Piece = Part | Track | BeltTrack | Trace


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture with moving parts; its words stand beside it on the page, not in it."""

    name: str
    width: float
    height: float
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class Pose:
    """Where everything stands: values by column, chains in pitches (None: off), what is shown."""

    values: Mapping[str, float]
    chains: Mapping[str, float | None]
    shown: frozenset[str]
    chosen: int
    crank_deg: float
    signals: Mapping[str, str]  # path data by sensor


def render(drawing: Drawing, pose: Pose) -> str:
    """Return the drawing as one inline ``<svg>``, hidden from readers: words stand beside it."""
    body = "".join(_piece(piece, pose) for piece in drawing.pieces)
    wide, high = f"{drawing.width:g}", f"{drawing.height:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="figure bench__{drawing.name}" '
        f'viewBox="0 0 {wide} {high}" width="{wide}" height="{high}" aria-hidden="true" '
        f'focusable="false"><g stroke-linejoin="round" stroke-linecap="round" '
        f'font-family="{FAMILY}"><path class="f-paper" fill="{LIGHT[Ink.PAPER]}" '
        f'd="M0 0H{wide}V{high}H0Z"/>{body}</g></svg>'
    )


def transform(part: Part, pose: Pose) -> str:
    """Return the part's transform; the page's script writes the same from the same columns."""
    value = pose.values[_named(part.column, pose)]
    if part.way is Way.TURN:
        return f"rotate({value - part.base:.2f} {part.x:g} {part.y:g})"
    slid = f"translate({part.dx * value:.2f} {part.dy * value:.2f})"
    if part.way is Way.SWING:
        lean = pose.values[_named(part.lean, pose)]  # the foot goes right: anticlockwise here
        return f"{slid} rotate({-lean:.2f} {part.x:g} {part.y:g})"
    return slid


def chain_paths(track: Track, moved: float) -> tuple[str, str, str]:
    """Return path data of a chain's line, its pins and its marked links at a movement."""
    start = track.first + moved
    pins = [track.at(start + pin) for pin in range(track.pins)]
    line = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in pins) + "Z"
    dots = "".join(f"M{x:.1f} {y:.1f}h0" for x, y in pins)
    links = "".join(
        f"M{pins[n][0]:.1f} {pins[n][1]:.1f}L{pins[m][0]:.1f} {pins[m][1]:.1f}"
        for n, m in ((mark % track.pins, (mark + 1) % track.pins) for mark in track.marked)
    )
    return line, dots, links


def belt_paths(track: BeltTrack, moved: float) -> tuple[str, str]:
    """Return path data of a belt's teeth and of its marked lines at a movement."""
    teeth = [(track.first + moved + tooth) % track.pins for tooth in range(track.pins)]
    strokes = "".join(_stroke(track.roots, track.tips, tooth) for tooth in teeth)
    lines = "".join(
        _stroke(track.back, track.tips, teeth[mark % track.pins]) for mark in track.marked
    )
    return strokes, lines


def _stroke(outer: tuple[Point, ...], inner: tuple[Point, ...], pitches: float) -> str:
    (x0, y0), (x1, y1) = _along(outer, pitches), _along(inner, pitches)
    return f"M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}"


def _piece(piece: Piece, pose: Pose) -> str:
    if isinstance(piece, Track):
        return _track(piece, pose)
    if isinstance(piece, BeltTrack):
        return _belt_track(piece, pose)
    return _trace(piece, pose) if isinstance(piece, Trace) else _part(piece, pose)


def _trace(trace: Trace, pose: Pose) -> str:
    lines = "".join(
        f'<path class="s-line" stroke="{LIGHT[Ink.LINE]}" stroke-width="1.4" fill="none" '
        f'data-signal="{escape(name)}" d="{pose.signals[name]}"/>'
        for name in trace.ids
    )
    return (
        f'<g data-way="trace" data-scale="{trace.scale:g}" '
        f'transform="translate({-trace.scale * pose.crank_deg:.2f} 0)">{lines}</g>'
    )


def _part(part: Part, pose: Pose) -> str:
    drawn = render_shapes(part.shapes)
    handle = ' class="bench__handle"' if part.handle else ""
    if part.way is Way.STILL:
        return f"<g{handle}{_shown_if(part, pose)}>{drawn}</g>"
    lean = f' data-lean="{escape(part.lean)}"' if part.lean else ""
    return (
        f'<g{handle}{_shown_if(part, pose)} data-way="{part.way}" '
        f'data-column="{escape(part.column)}"{lean} '
        f'data-x="{part.x:g}" data-y="{part.y:g}" data-base="{part.base:g}" '
        f'data-dx="{part.dx:.4g}" data-dy="{part.dy:.4g}" '
        f'transform="{transform(part, pose)}">{drawn}</g>'
    )


def _shown_if(part: Part, pose: Pose) -> str:
    if not part.shown_if:
        return ""
    hidden = "" if _named(part.shown_if, pose) in pose.shown else ' display="none"'
    return f' data-shown-if="{escape(part.shown_if)}"{hidden}'


def _track(track: Track, pose: Pose) -> str:
    moved = pose.chains.get(track.drive)
    line, dots, links = chain_paths(track, moved or 0.0)
    points = " ".join(f"{x:.1f} {y:.1f}" for x, y in track.points)
    marked = " ".join(map(str, track.marked))
    hidden = ' display="none"' if moved is None else ""
    dot, ink, paper, mark = 2 * track.radius, *(LIGHT[i] for i in (Ink.LINE, Ink.PAPER, Ink.MARK))
    return (
        f'<g data-way="chain" data-drive="{escape(track.drive)}" data-pins="{track.pins}" '
        f'data-samples="{SAMPLES}" data-first="{track.first:.4f}" data-marked="{marked}" '
        f'data-track="{points}" fill="none"{hidden}>'
        f'<path class="s-line" stroke="{ink}" stroke-width="{0.7 * dot:.2f}" d="{line}"/>'
        f'<path class="s-paper" stroke="{paper}" stroke-width="{0.7 * dot - 1.2:.2f}" d="{line}"/>'
        f'<path class="s-line" stroke="{ink}" stroke-width="{dot:.2f}" d="{dots}"/>'
        f'<path class="s-paper" stroke="{paper}" stroke-width="{dot - 1.6:.2f}" d="{dots}"/>'
        f'<path class="s-mark" stroke="{mark}" stroke-width="{1.15 * dot:.2f}" d="{links}"/></g>'
    )


def _belt_track(track: BeltTrack, pose: Pose) -> str:
    """Write the belt: its body stands still, teeth and lines are strokes from place to place."""
    moved = pose.chains.get(track.drive)
    teeth, lines = belt_paths(track, moved or 0.0)
    hidden = ' display="none"' if moved is None else ""
    places = ((track.tips, "tips"), (track.roots, "roots"), (track.back, "back"))
    data = " ".join(f'data-{name}="{_numbers(points)}"' for points, name in places)
    marked = " ".join(map(str, track.marked))
    ink, mark, shade = (LIGHT[i] for i in (Ink.LINE, Ink.MARK, Ink.SHADE))
    back, roots = (
        "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points) + "Z"
        for points in (track.back, track.roots)
    )
    return (
        f'<g data-way="belt" data-drive="{escape(track.drive)}" data-pins="{track.pins}" '
        f'data-samples="{SAMPLES}" data-first="{track.first:.4f}" data-marked="{marked}" '
        f'{data} fill="none" stroke-linecap="butt"{hidden}>'
        f'<path class="f-shade" fill="{shade}" fill-rule="evenodd" d="{back}{roots}"/>'
        f'<path class="s-line" stroke="{ink}" stroke-width="1.4" d="{back}"/>'
        f'<path class="s-line" stroke="{ink}" stroke-width="{track.width:.2f}" d="{teeth}"/>'
        f'<path class="s-mark" stroke="{mark}" stroke-width="{track.width:.2f}" d="{lines}"/></g>'
    )


def _numbers(points: tuple[Point, ...]) -> str:
    return " ".join(f"{x:.1f} {y:.1f}" for x, y in points)


def _named(column: str, pose: Pose) -> str:
    return column.replace(CHOSEN, str(pose.chosen))
