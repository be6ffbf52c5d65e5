"""A torque wrench with an adapter at an angle, seen from above the bolt."""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, hypot, radians, sin

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Arc,
    Circle,
    Ink,
    Label,
    Lines,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    at_clock,
)

LEFT = 46.0
REACH = 300.0  # most of the picture that wrench and adapter take


@dataclass(frozen=True, slots=True)
class TorqueWrench:
    """Wrench of ``length_mm`` from grip to square drive, adapter from square to bolt.

    ``angle_deg`` is 0 when the adapter lengthens the wrench straight ahead, 180 turned back.
    ``asked``: "setting", "torque" or nothing; the two values are words at the wrench and the
    bolt, empty for none.
    """

    length_mm: float
    adapter_mm: float
    angle_deg: float = 0.0
    setting: str = ""
    torque: str = ""
    asked: str = ""
    note: str = ""


def describe(state: TorqueWrench) -> str:
    turned = {
        0.0: "straight ahead, lengthening the wrench",
        90.0: "square to the wrench",
        180.0: "turned back along the wrench",
    }.get(float(state.angle_deg), f"at {parts.plain(state.angle_deg)}° to the wrench")
    setting = "asked for" if state.asked == "setting" else state.setting
    torque = "asked for" if state.asked == "torque" else state.torque
    said = [
        f"Setting of the wrench: {setting}." if setting else "",
        f"Torque at the bolt: {torque}." if torque else "",
        state.note,
    ]
    seen = (
        f"Torque wrench from above, {state.length_mm:g} mm from the middle of the grip to the "
        f"square drive; an adapter of {state.adapter_mm:g} mm from square to bolt stands {turned}."
    )
    return " ".join(filter(None, (seen, *said)))


def draw(state: TorqueWrench, *, solution: bool = False) -> Scene:
    if not 0 <= state.angle_deg <= 180:
        raise InputError(
            "the adapter's angle runs from straight ahead to turned back.",
            field="angle_deg",
            value=state.angle_deg,
            remedy="Give 0 to 180.",
        )
    grip, square, bolt = _ends(state)
    shapes = [
        *_tool(grip, square, bolt),
        *_lengths(state, grip, square, bolt),
        *_angle(state, square),
        *_values(state, grip, bolt, solution=solution),
    ]
    words, height = parts.caption(state.note or "Seen from above; lengths to scale.", grip[1] + 122)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _ends(state: TorqueWrench) -> tuple[Point, Point, Point]:
    """Return the middle of the grip, of the square drive and of the bolt."""
    turn = radians(state.angle_deg)
    scale = REACH / (state.length_mm + state.adapter_mm * max(0.0, cos(turn)))
    reach = state.adapter_mm * scale
    y = 84.0 + reach * sin(turn)
    square = (LEFT + state.length_mm * scale, y)
    return (LEFT, y), square, (square[0] + reach * cos(turn), y - reach * sin(turn))


def _tool(grip: Point, square: Point, bolt: Point) -> list[Shape]:
    dx, dy = bolt[0] - square[0], bolt[1] - square[1]
    length = hypot(dx, dy) or 1.0
    nx, ny = -dy / length * 9, dx / length * 9
    adapter = (
        (square[0] + nx, square[1] + ny),
        (bolt[0] + nx, bolt[1] + ny),
        (bolt[0] - nx, bolt[1] - ny),
        (square[0] - nx, square[1] - ny),
    )
    x, y = grip
    hexagon = tuple(
        (bolt[0] + 12 * sin(radians(60 * n)), bolt[1] - 12 * cos(radians(60 * n))) for n in range(6)
    )
    return [
        parts.rectangle(x, y - 5, square[0], y + 5, parts.EDGE, "wrench"),
        parts.rectangle(x - 26, y - 11, x + 54, y + 11, Style(Ink.LINE, Ink.SHADE), "grip"),
        Circle(square, 19, parts.EDGE),
        Polyline(adapter, parts.EDGE, closed=True, name="adapter"),
        Circle(bolt, 18, parts.EDGE, name="adapter head"),
        parts.rectangle(square[0] - 7, square[1] - 7, square[0] + 7, square[1] + 7, parts.EDGE,
                        "square"),
        Polyline(hexagon, Style(Ink.LINE, Ink.PAPER), closed=True, name="bolt"),
        Circle(grip, 2.5, parts.SOLID_PIN),
    ]  # fmt: skip


def _lengths(state: TorqueWrench, grip: Point, square: Point, bolt: Point) -> list[Shape]:
    low = grip[1] + 50
    feet = tuple(((x, grip[1] + 14), (x, low + 8)) for x in (grip[0], square[0]))
    across = _across(square, bolt)
    if state.angle_deg > 90:  # the upper side, away from the wrench
        across = (-across[0], -across[1])
    ends = [(x + 34 * across[0], y + 34 * across[1]) for x, y in (square, bolt)]
    middle = ((ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2)
    word = (middle[0] + 40 * across[0], middle[1] + 14 * across[1] + 6)
    arms = tuple(
        ((x + 18 * across[0], y + 18 * across[1]), end)
        for (x, y), end in zip((square, bolt), ends, strict=True)
    )
    return [
        Lines((*feet, *arms), parts.DIMENSION),
        *parts.dimension((grip[0], low), (square[0], low), f"{state.length_mm:g} mm"),
        *parts.dimension(ends[0], ends[1], "", name="adapter length"),
        Label(word, f"{state.adapter_mm:g} mm", bold=True, halo=True),
    ]


def _across(square: Point, bolt: Point) -> Point:
    """Return the direction square to the adapter, to its upper left when it points ahead."""
    dx, dy = bolt[0] - square[0], bolt[1] - square[1]
    length = hypot(dx, dy) or 1.0
    return dy / length, -dx / length


def _angle(state: TorqueWrench, square: Point) -> list[Shape]:
    if not 0 < state.angle_deg < 180:
        return []
    ahead = (square[0] + 84, square[1])
    x, y = at_clock(square, 66, 90 - min(14.0, state.angle_deg / 2))
    text = f"{parts.plain(state.angle_deg)}°"
    return [
        Lines(((square, ahead),), parts.CENTRE_LINE),
        Arc(square, 58, 90, -state.angle_deg, parts.DIMENSION, name="angle"),
        Label((x, y + 4), text, anchor=Anchor.START, bold=True, halo=True, name="angle value"),
    ]


def _values(state: TorqueWrench, grip: Point, bolt: Point, *, solution: bool) -> list[Shape]:
    shapes: list[Shape] = []
    if state.setting:
        text, ink = parts.shown(state.setting, asked=state.asked == "setting", solution=solution)
        at = (grip[0] - 26, grip[1] - 26)
        shapes.append(
            Label(at, f"setting {text}", anchor=Anchor.START, ink=ink, bold=True, name="setting")
        )
    if state.torque:
        text, ink = parts.shown(state.torque, asked=state.asked == "torque", solution=solution)
        at = (min(bolt[0], parts.WIDTH - 110), grip[1] + 96)
        shapes.append(Label(at, f"at the bolt {text}", ink=ink, bold=True, name="torque"))
    return shapes
