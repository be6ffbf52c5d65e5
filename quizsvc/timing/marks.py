"""Timing marks: counting pins between them, judging the count, and when they meet again.

Pin count between two marks = pitches along the strand: the pin at the first mark is not counted,
the pin at the second mark is. An error is positive when the cam lags (retarded = later).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from quizsvc.timing.path import DrivePath
from quizsvc.timing.quantity import number, refuse, turn_deg, whole

Direction = Literal["in time", "advanced", "retarded"]
Side = Literal["tight", "slack"]


@dataclass(frozen=True, slots=True)
class MarkCount:
    """A count between two marks, with each way of saying it.

    >>> count = MarkCount(12)
    >>> count.pins, count.pins_between, count.links_between
    (12, 11, 11)
    """

    pitches: int

    def __post_init__(self) -> None:
        whole("pitches", self.pitches, at_least=1)

    @property
    def pins(self) -> int:
        """Pins counted by the convention: not the one at the first mark, but that at the second."""
        return self.pitches

    @property
    def pins_between(self) -> int:
        """Pins strictly between two marked pins: neither marked pin is counted."""
        return self.pitches - 1

    @property
    def links_between(self) -> int:
        """Links strictly between two marked links: neither marked link is counted."""
        return self.pitches - 1


@dataclass(frozen=True, slots=True)
class MarkVerdict:
    """What a pin count says of the cam; all three numbers are positive when it is retarded."""

    teeth_off: int
    cam_deg: float
    crank_deg: float
    direction: Direction


def pins_between_marks(
    path: DrivePath,
    pitch_mm: float,
    from_index: int,
    from_mark_deg: float,
    to_index: int,
    to_mark_deg: float,
) -> float:
    """Pitches from one mark to another along the chain in its running direction.

    Marks in degrees clockwise from straight up, where the chain lies on their wheels. On a wheel
    the pins stand on a polygon, so a pitch takes 2·asin(p/2r) of it (360/N on a sprocket); the
    arc divided by the pitch would count up to 0.1 pitch too many on a small sprocket. Range
    (0, whole chain]. Raises InputError when the chain does not touch a wheel at its mark.

    >>> from quizsvc.timing.chain import pitch_diameter_mm
    >>> from quizsvc.timing.path import PathWheel
    >>> radius = pitch_diameter_mm(10, 20) / 2
    >>> pair = DrivePath((PathWheel(0, 0, radius), PathWheel(0, 200, radius)))
    >>> round(pins_between_marks(pair, 10, 0, 180, 1, 0), 6)
    30.0
    """
    whole("from_index", from_index, at_least=0, at_most=len(path.wheels) - 1)
    whole("to_index", to_index, at_least=0, at_most=len(path.wheels) - 1)
    number("from_mark_deg", from_mark_deg)
    number("to_mark_deg", to_mark_deg)
    start = path.pitches_to(from_index, from_mark_deg, pitch_mm)
    end = path.pitches_to(to_index, to_mark_deg, pitch_mm)
    whole_chain = path.pitches(pitch_mm)
    return turn_deg(end - start, whole_chain) or whole_chain


def check_pin_count(specified: int, counted: int, cam_teeth: int, side: Side) -> MarkVerdict:
    """Judge a cam by the pins counted between its mark and the crank's, crank at its mark.

    On the tight strand (which the crank pulls) more pins than specified mean that the cam lags;
    on the slack strand they mean that it leads, as the whole chain is fixed.

    >>> check_pin_count(40, 41, 36, "tight")
    MarkVerdict(teeth_off=1, cam_deg=10.0, crank_deg=20.0, direction='retarded')
    """
    whole("specified", specified, at_least=1)
    whole("counted", counted, at_least=1)
    if side not in {"tight", "slack"}:
        refuse("side", side, "is no strand.", 'Say "tight" or "slack".')
    teeth_off = counted - specified if side == "tight" else specified - counted
    return verdict_of_teeth(teeth_off, cam_teeth)


def verdict_of_teeth(teeth_off: int, cam_teeth: int) -> MarkVerdict:
    """Say what a slip of whole teeth means; positive teeth lag.

    >>> verdict_of_teeth(-2, 40).crank_deg
    -36.0
    """
    whole("cam_teeth", cam_teeth, at_least=3)
    whole("teeth_off", teeth_off, at_least=-cam_teeth, at_most=cam_teeth)
    cam_deg = teeth_off * 360 / cam_teeth
    return MarkVerdict(teeth_off, cam_deg, 2 * cam_deg, _direction(teeth_off))


def mark_angle_deg(cam_mark_deg: float, crank_turn_deg: float, ratio: float = 0.5) -> float:
    """Where a mark stands in [0, 360) after the crank has turned; positive in running rotation.

    ``ratio`` is turns of the mark's shaft per turn of the crank, a half for a cam.

    >>> mark_angle_deg(350, 90)
    35.0
    """
    number("ratio", ratio)
    turned = number("crank_turn_deg", crank_turn_deg) * ratio
    return turn_deg(number("cam_mark_deg", cam_mark_deg) + turned)


def realign_revolutions(links: int, crank_teeth: int) -> int:
    """Crank turns until a marked link meets the crank mark again: lcm(links, teeth) / teeth.

    >>> realign_revolutions(96, 15)
    32
    """
    whole("links", links, at_least=2)
    whole("crank_teeth", crank_teeth, at_least=3)
    return math.lcm(links, crank_teeth) // crank_teeth


def realign_with_cam_revolutions(links: int, crank_teeth: int) -> int:
    """Crank turns until crank, half-speed cam and marked links all meet again.

    lcm(links, 2n) / n, with n crank teeth and 2n cam teeth.

    >>> realign_with_cam_revolutions(72, 18)
    4
    """
    whole("links", links, at_least=2)
    whole("crank_teeth", crank_teeth, at_least=3)
    return math.lcm(links, 2 * crank_teeth) // crank_teeth


def crank_degrees_per_tooth(cam_teeth: int) -> float:
    """Crank degrees for one tooth of a half-speed cam sprocket: 720 / N.

    >>> crank_degrees_per_tooth(40)
    18.0
    """
    return 720 / whole("cam_teeth", cam_teeth, at_least=3)


def _direction(teeth_off: int) -> Direction:
    if teeth_off == 0:
        return "in time"
    return "retarded" if teeth_off > 0 else "advanced"
