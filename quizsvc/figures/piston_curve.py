"""How deep the piston stands below TDC, against the crank angle."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import chart, parts
from quizsvc.figures.scene import (
    Anchor,
    Circle,
    Dash,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)
from quizsvc.timing.crank import SliderCrank

AXES_BOX = (62.0, 62.0, 452.0, 310.0)
STEP = 5


@dataclass(frozen=True, slots=True)
class PistonCurve:
    """The curve of one slider-crank with a point on it.

    ``asked`` is "drop", "angle" or nothing; the asked coordinate of the point at ``crank_deg``
    is written "?". The curve's own numbers would give the answer away, so where something is
    asked the drop axis names TDC and BDC only.
    """

    stroke_mm: float
    rod_mm: float
    crank_deg: float
    asked: str = ""
    pin_offset_mm: float = 0.0
    note: str = ""


def describe(state: PistonCurve) -> str:
    drop = "asked for" if state.asked == "drop" else _said(_drop(state), "mm below TDC")
    angle = "asked for" if state.asked == "angle" else _said(state.crank_deg, "degrees after TDC")
    return (
        f"Curve of the piston's depth below TDC over half a crankshaft turn: it leaves TDC slowly, "
        f"falls fastest before 90 degrees and comes to rest at BDC. Stroke {state.stroke_mm:g} mm, "
        f"rod {state.rod_mm:g} mm. One point is marked: crank angle {angle}, depth {drop}."
        + (f" {state.note}" if state.note else "")
    )


def draw(state: PistonCurve, *, solution: bool = False) -> Scene:
    if not 0 <= state.crank_deg <= 180:
        raise InputError(
            "the curve runs from TDC to BDC.",
            field="crank_deg",
            value=state.crank_deg,
            remedy="Give 0 to 180.",
        )
    axes = _axes(state)
    words, height = parts.caption(
        state.note or f"Stroke {state.stroke_mm:g} mm, rod {state.rod_mm:g} mm.", 374
    )
    shapes = [*_frame(state, axes), _curve(state, axes), *_point(state, axes, solution=solution)]
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _slider(state: PistonCurve) -> SliderCrank:
    return SliderCrank(state.stroke_mm, state.rod_mm, state.pin_offset_mm)


def _drop(state: PistonCurve) -> float:
    return _slider(state).drop_mm(state.crank_deg)


def _said(value: float, unit: str) -> str:
    return f"{parts.plain(value)} {unit}"


def _axes(state: PistonCurve) -> chart.Axes:
    left, top, right, bottom = AXES_BOX
    return chart.Axes(left, top, right, bottom, 0, 180, state.stroke_mm, 0)


def _frame(state: PistonCurve, axes: chart.Axes) -> list[Shape]:
    """Give numbers on an axis only where they cannot be read off as the answer."""
    angles = [(deg, f"{deg}°") for deg in (0, 45, 90, 135, 180)]
    if state.asked == "angle":
        angles = [(0, "TDC"), (90, ""), (180, "BDC")]
    depths = [(0.0, "TDC"), (state.stroke_mm, "BDC")]
    return chart.frame(axes, angles, depths, "crank angle after TDC", "depth of the piston")


def _curve(state: PistonCurve, axes: chart.Axes) -> Shape:
    slider = _slider(state)
    points = tuple(axes.at(deg, slider.drop_mm(deg)) for deg in range(0, 181, STEP))
    return Polyline(points, Style(Ink.LINE), name="curve")


def _point(state: PistonCurve, axes: chart.Axes, *, solution: bool) -> list[Shape]:
    drop = _drop(state)
    x, y = axes.at(state.crank_deg, drop)
    guides = (((x, axes.bottom), (x, y)), ((axes.left, y), (x, y)))
    angle, angle_ink = parts.shown(
        f"{parts.plain(state.crank_deg, 2)}°", asked=state.asked == "angle", solution=solution
    )
    depth, depth_ink = parts.shown(
        f"{parts.plain(drop, 2)} mm", asked=state.asked == "drop", solution=solution
    )
    early = x < (axes.left + axes.right) / 2
    # Words stand where the falling curve cannot be: above it to the right, below it to the left.
    beside = Anchor.START if early else Anchor.END
    return [
        Lines(guides, Style(Ink.ACCENT, weight=Weight.THIN, dash=Dash.DASHED)),
        Circle((x, y), 5, Style(Ink.ACCENT, Ink.ACCENT), name="point"),
        Label(
            (x + (7 if early else -7), axes.bottom - 8),
            angle,
            anchor=beside,
            ink=angle_ink,
            bold=True,
            halo=True,
            name="angle value",
        ),
        Label(
            (x + 12 if early else axes.right, min(y - 10, axes.bottom - 34)),
            depth,
            anchor=beside,
            ink=depth_ink,
            bold=True,
            halo=True,
            name="drop value",
        ),
    ]
