"""How two sprockets and their chain are laid out so that a strand holds a stated pin count.

All lengths in pitches, x to the right and y up, the driving sprocket at the origin. The centre
distance is whatever makes the counted strand hold its pins; the strand that the driver does not
pull is led by a tensioner blade that takes up what is left, as on an engine. Where no blade fits
between the sprockets, the uncounted strand's pins are set a few percent closer or wider instead.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import ceil, cos, floor, radians, sin, sqrt

from quizsvc.errors import InputError
from quizsvc.figures.chain_line import seat_radius, tooth_step_deg
from quizsvc.timing.path import DrivePath, PathWheel

CLEARANCE = 0.3  # pitches between the pitch circles at the least
EVEN = 0.04  # pitches by which a strand may miss whole pins before the blade is needed
OFF_CHAIN = 28.0  # degrees by which a mark may stand off the chain and its pin still be plain
_NEAR_ENOUGH = 2e-4  # pitches: a hundredth of a picture unit


@dataclass(frozen=True, slots=True)
class PairLayout:
    """A closed loop; ``slack_pins`` and ``tight_pins`` count from mark to mark on each strand."""

    path: DrivePath  # wheels: first, second, and a blade between them where the slack needs it
    first_pitch: float  # where the pin at the first mark stands along the path
    slack_pins: int
    tight_pins: int
    slack_step: float  # pitches of the path from pin to pin; 1 but for a stretched strand
    tight_step: float
    centre: float


@lru_cache(maxsize=256)
def lay_out(
    teeth: tuple[int, int],
    marks_deg: tuple[float, float],
    pins: int,
    *,
    counted_tight: bool,
    clockwise: bool,
    axis_deg: float,
) -> PairLayout:
    """Return the layout in which the counted strand holds ``pins`` pitches from mark to mark.

    Raises:
        InputError: too few pins for these teeth and marks, or a mark the chain does not lie on.
    """
    pair = _Pair(teeth, marks_deg, clockwise, axis_deg)
    centre = _centre_for(pair, pins, tight=counted_tight)
    path = pair.path(centre)
    tight, slack = pair.counts(path)
    other = slack if counted_tight else tight
    if abs(other - round(other)) > EVEN:
        with_blade = _with_blade(pair, centre, pins, other, counted_tight=counted_tight)
        if with_blade is not None:
            return with_blade
    return _laid(pair, path, centre, round(slack), round(tight))


def _with_blade(
    pair: _Pair, centre: float, pins: int, other: float, *, counted_tight: bool
) -> PairLayout | None:
    """Return a layout whose slack strand a blade leads, or None where none fits."""
    tight_pins, slack_pins = (pins, ceil(other)) if counted_tight else (floor(other), pins)
    try:
        if not counted_tight:
            centre = _centre_for(pair, tight_pins, tight=True)
        path = _tensioned(pair, centre, slack_pins)
    except InputError:
        return None
    return None if path is None else _laid(pair, path, centre, slack_pins, tight_pins)


def _laid(
    pair: _Pair, path: DrivePath, centre: float, slack_pins: int, tight_pins: int
) -> PairLayout:
    tight, slack = pair.counts(path)
    first = _pitches_to(path, 0, pair.marks_deg[0])
    steps = slack / slack_pins, tight / tight_pins
    return PairLayout(path, first, slack_pins, tight_pins, *steps, centre)


@dataclass(frozen=True, slots=True)
class _Pair:
    teeth: tuple[int, int]
    marks_deg: tuple[float, float]
    clockwise: bool
    axis_deg: float

    @property
    def radii(self) -> tuple[float, float]:
        return seat_radius(self.teeth[0]), seat_radius(self.teeth[1])

    def path(self, centre: float, blade: PathWheel | None = None) -> DrivePath:
        axis = radians(self.axis_deg)
        first = PathWheel(0.0, 0.0, self.radii[0])
        second = PathWheel(centre * sin(axis), centre * cos(axis), self.radii[1])
        between = (blade,) if blade else ()
        return DrivePath((first, *between, second), self.clockwise)

    def counts(self, path: DrivePath) -> tuple[float, float]:
        """Return the pitches from mark to mark on the tight and on the slack strand.

        The running chain leaves the driver on the slack side.
        """
        start = _pitches_to(path, 0, self.marks_deg[0])
        end = _pitches_to(path, len(path.wheels) - 1, self.marks_deg[1])
        total = path.pitches(1.0)
        slack = (end - start) % total
        return total - slack, slack


def _pitches_to(path: DrivePath, index: int, mark_deg: float) -> float:
    """Return the pitches to the pin at a mark, also a little off the chain.

    A slipped sprocket may turn its mark just out of the chain; the pin that would drop into
    that seat is still the one next to it on the strand.
    """
    if path.touches(index, mark_deg):
        return path.pitches_to(index, mark_deg, 1.0)
    arc, way = path.arcs[index], 1 if path.clockwise else -1
    late = ((mark_deg - arc.start_deg) * way) % 360 - arc.wrap_deg
    early = 360 - late - arc.wrap_deg
    if min(late, early) > OFF_CHAIN:
        raise InputError(
            f"the chain does not lie on the {'second' if index else 'first'} sprocket at its mark.",
            field="second.mark_deg" if index else "first.mark_deg",
            value=mark_deg,
            remedy="Turn the mark to where the chain is, or pins cannot be counted from it.",
        )
    step = tooth_step_deg(path.wheels[index].radius_mm, 1.0)
    start = path.pitches_to(index, arc.start_deg, 1.0)
    return start - early / step if early < late else start + (arc.wrap_deg + late) / step


def _centre_for(pair: _Pair, pins: int, *, tight: bool) -> float:
    """Return the centre distance at which a strand holds ``pins``; a pitch more adds about one."""
    least = sum(pair.radii) + CLEARANCE
    centre = max(least, float(pins))
    for _ in range(60):
        tight_count, slack_count = pair.counts(pair.path(centre))
        lacking = pins - (tight_count if tight else slack_count)
        if abs(lacking) < _NEAR_ENOUGH:
            return centre
        if centre == least and lacking < 0:
            break
        centre = max(least, centre + lacking)
    raise InputError(
        "two sprockets of these teeth, with these marks, cannot stand so close.",
        field="pins",
        value=pins,
        remedy="Count more pins, or turn the marks.",
    )


def _tensioned(pair: _Pair, centre: float, slack_pins: int) -> DrivePath | None:
    """Press a blade into the slack strand until it holds ``slack_pins``; None if it cannot.

    What a strand gains grows with the square of how deep the blade goes. A blade on which about
    half of the strand lies looks like one; where sprockets leave no room for it, a smaller one.
    """
    _, bare = pair.counts(pair.path(centre))
    wanted = slack_pins - bare
    depth = sqrt(wanted * centre / 2.2)
    for part in (1.0, 0.5, 0.2):
        path = _pressed(pair, centre, wanted, depth, part * centre * centre / (16 * depth))
        if path is not None:
            return path
    return None


def _pressed(
    pair: _Pair, centre: float, wanted: float, depth: float, radius: float
) -> DrivePath | None:
    _, bare = pair.counts(pair.path(centre))
    for _ in range(20):
        try:
            path = pair.path(centre, _blade(pair, centre, depth, radius))
            gained = pair.counts(path)[1] - bare
        except InputError:  # the blade would cut into a sprocket
            return None
        if abs(gained - wanted) < _NEAR_ENOUGH:
            return path
        depth *= min(1.5, max(0.6, sqrt(wanted / max(gained, 1e-6))))
    return None


def _blade(pair: _Pair, centre: float, depth: float, radius: float) -> PathWheel:
    """Return the blade as a large wheel on the chain's back, ``depth`` inside the bare strand."""
    axis = radians(pair.axis_deg)
    side = -1 if pair.clockwise else 1  # the slack strand lies to the left of the axis, running
    along, across = (sin(axis), cos(axis)), (cos(axis) * side, -sin(axis) * side)
    half = centre / 2
    out = sum(pair.radii) / 2 - depth + radius
    return PathWheel(
        along[0] * half + across[0] * out, along[1] * half + across[1] * out, radius, back=True
    )
