"""The four-stroke cycle: which cylinder is where at a crank angle.

Crank angle 0 is the firing top dead centre (TDC) of cylinder 1, positive in the running
rotation; the cycle is [0, 720). Bank and crankpin angles are positive in the running direction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import pairwise

from quizsvc.timing.firing import (
    CYCLE_DEG,
    TURN_DEG,
    companion_cylinder,
    firing_angles_deg,
    firing_interval_deg,
    firing_order_of,
    known_cylinder,
    next_to_fire,
    permutation_of,
)
from quizsvc.timing.quantity import number, refuse, sequence, turn_deg, whole

__all__ = [
    "CYCLE_DEG",
    "STROKES",
    "STROKE_DEG",
    "TURN_DEG",
    "CylinderLayout",
    "CylinderPlace",
    "Stroke",
    "companion_cylinder",
    "cross_plane_v8",
    "degrees_after_firing_tdc",
    "degrees_after_last_tdc",
    "firing_angles_deg",
    "firing_interval_deg",
    "firing_order_of",
    "flat_four",
    "inline_layout",
    "next_to_fire",
    "stroke_at",
    "vee_layout",
]

STROKE_DEG = 180.0
DECIMALS = 9  # of a degree


class Stroke(StrEnum):
    """The four strokes, in the order in which they follow the firing TDC."""

    POWER = "power"
    EXHAUST = "exhaust"
    INTAKE = "intake"
    COMPRESSION = "compression"


STROKES = tuple(Stroke)


@dataclass(frozen=True, slots=True)
class CylinderPlace:
    """Where one cylinder stands.

    ``bank_deg`` is the direction of its bore axis from straight up, ``pin_deg`` that of its
    crankpin from crankpin 1; both positive in the running direction.
    """

    number: int
    bank_deg: float = 0.0
    pin_deg: float = 0.0

    def __post_init__(self) -> None:
        whole("number", self.number, at_least=1)
        number("bank_deg", self.bank_deg)
        number("pin_deg", self.pin_deg)


@dataclass(frozen=True, slots=True)
class CylinderLayout:
    """Cylinders, crankpins and firing order together.

    Raises InputError when the firing order is no permutation of the cylinders, or when these
    crankpins cannot fire in this order within two turns.

    >>> inline_layout((1, 3, 4, 2)).firing_deg
    {1: 0.0, 3: 180.0, 4: 360.0, 2: 540.0}
    """

    places: tuple[CylinderPlace, ...]
    firing_order: tuple[int, ...]
    _tdc: dict[int, float] = field(init=False, repr=False, compare=False)
    _firing: dict[int, float] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "places", _places(self.places))
        numbers = tuple(place.number for place in self.places)
        order = permutation_of(self.firing_order, numbers)
        object.__setattr__(self, "firing_order", order)
        object.__setattr__(self, "_tdc", _tdc_angles(self.places))
        object.__setattr__(self, "_firing", _firing_from_tdc(order, self._tdc))

    @property
    def cylinders(self) -> tuple[int, ...]:
        """Cylinder numbers, as placed."""
        return tuple(place.number for place in self.places)

    @property
    def firing_deg(self) -> dict[int, float]:
        """Firing TDC of each cylinder in [0, 720), keys in firing order from cylinder 1."""
        return dict(self._firing)

    @property
    def intervals_deg(self) -> tuple[float, ...]:
        """Crank degrees from each firing to the next, from cylinder 1 on; their sum is 720."""
        angles = (*self._firing.values(), CYCLE_DEG)
        return tuple(later - earlier for earlier, later in pairwise(angles))

    def tdc_deg(self, cylinder: int) -> float:
        """Crank angle in [0, 360) at which the cylinder's piston stands at TDC.

        A crankpin that stands ahead reaches its bore axis earlier; a bank that leans in the
        running direction is reached later.
        """
        return self._tdc[known_cylinder(self._tdc, cylinder)]

    def pin_splay_deg(self, cylinder: int, other: int) -> float:
        """Angle in (-180, 180] by which the crankpin of ``other`` stands ahead.

        >>> vee_layout((1, 2, 3, 4, 5, 6), 90).pin_splay_deg(1, 2)
        -30.0
        """
        pins = {place.number: place.pin_deg for place in self.places}
        ahead = turn_deg(pins[known_cylinder(pins, other)] - pins[known_cylinder(pins, cylinder)])
        return ahead - TURN_DEG if ahead > STROKE_DEG else ahead


def inline_layout(firing_order: Sequence[int]) -> CylinderLayout:
    """Lay out an even-firing engine in one row, with the crankpins this order needs.

    >>> inline_layout((1, 2, 4, 5, 3)).tdc_deg(3)
    216.0
    """
    order = firing_order_of(firing_order)
    return _even_layout(order, dict.fromkeys(order, 0.0))


def vee_layout(
    firing_order: Sequence[int],
    bank_angle_deg: float,
    left_cylinders: Sequence[int] | None = None,
) -> CylinderLayout:
    """Lay out an even-firing vee engine, with the crankpins (and splay) this order needs.

    ``left_cylinders`` are those of the bank that leans in the running direction: the left one as
    the trade says it, seen from the flywheel end of an engine that runs clockwise seen from the
    chain end. Left out, the numbering (odd and even, or bank by bank) is taken whose crankpin
    pairs need the least splay. For uneven firing on shared crankpins build CylinderLayout from
    its places.

    >>> vee_layout((1, 2, 3, 4, 5, 6), 60).pin_splay_deg(1, 2)
    -60.0
    >>> vee_layout((1, 2, 3, 4, 5, 6), 90).pin_splay_deg(1, 2)
    -30.0
    """
    order = firing_order_of(firing_order)
    number("bank_angle_deg", bank_angle_deg, above=0, at_most=180)
    if left_cylinders is not None:
        return _vee(order, bank_angle_deg, _left_bank(order, left_cylinders))
    layouts = (_vee(order, bank_angle_deg, left) for left in _usual_left_banks(len(order)))
    return min(layouts, key=_splay_of_pairs)


def cross_plane_v8(firing_order: Sequence[int]) -> CylinderLayout:
    """Lay out a 90° V8 with four crankpins 90° apart, each shared by one cylinder of each bank.

    The banks are found from the order, as in vee_layout. Raises InputError when no such
    crankshaft fires in this order.

    >>> cross_plane_v8((1, 8, 4, 3, 6, 5, 7, 2)).pin_splay_deg(1, 2)
    0.0
    """
    order = _order_of_length(firing_order, 8)
    layout = vee_layout(order, 90)
    if not _pins_are_shared_across(layout, pins=4):
        refuse("firing_order", order, "no cross-plane crankshaft fires evenly in this order.",
               "Check the order, or describe banks and crankpins one by one.")  # fmt: skip
    return layout


def flat_four(firing_order: Sequence[int]) -> CylinderLayout:
    """Lay out a flat four in which opposed pistons reach TDC together on opposed crankpins.

    >>> flat_four((1, 3, 2, 4)).tdc_deg(2)
    0.0
    """
    order = _order_of_length(firing_order, 4)
    for left in ((2, 4), (3, 4)):
        layout = _vee(order, 180, frozenset(left))
        if _pins_are_shared_across(layout, pins=2):
            return layout
    return refuse(
        "firing_order", order, "no flat-four crankshaft fires evenly in this order.",
        "Check the order, or describe banks and crankpins one by one.",
    )  # fmt: skip


def degrees_after_firing_tdc(firing_deg: float, crank_deg: float) -> float:
    """Crank degrees in [0, 720) since the cylinder's firing TDC.

    >>> degrees_after_firing_tdc(540, 90)
    270.0
    """
    return turn_deg(number("crank_deg", crank_deg) - number("firing_deg", firing_deg), CYCLE_DEG)


def degrees_after_last_tdc(firing_deg: float, crank_deg: float) -> float:
    """Crank degrees in [0, 360) since the cylinder's last TDC, firing or not.

    >>> degrees_after_last_tdc(120, 60)
    300.0
    """
    return turn_deg(number("crank_deg", crank_deg) - number("firing_deg", firing_deg))


def stroke_at(firing_deg: float, crank_deg: float) -> Stroke:
    """Name the stroke a cylinder is on; a dead centre belongs to the stroke that begins there.

    Source: engine texts.

    >>> [str(stroke_at(firing, 90)) for firing in (0, 540, 180, 360)]
    ['power', 'exhaust', 'compression', 'intake']
    """
    return STROKES[int(degrees_after_firing_tdc(firing_deg, crank_deg) // STROKE_DEG)]


def _places(places: object) -> tuple[CylinderPlace, ...]:
    found = sequence("places", places)
    checked = tuple(place for place in found if isinstance(place, CylinderPlace))
    if len(checked) != len(found) or not checked:
        refuse("places", found, "must hold one CylinderPlace for each cylinder.")
    numbers = [place.number for place in checked]
    if len(set(numbers)) != len(numbers) or 1 not in numbers:
        refuse("places", numbers, "must number the cylinders from 1, each number once.")
    return checked


def _tdc_angles(places: tuple[CylinderPlace, ...]) -> dict[int, float]:
    reached = {place.number: place.bank_deg - place.pin_deg for place in places}
    # Rounded, so that dust of a subtraction makes no dead centre a hair after another.
    return {c: turn_deg(round(angle - reached[1], DECIMALS)) for c, angle in reached.items()}


def _firing_from_tdc(order: tuple[int, ...], tdc: Mapping[int, float]) -> dict[int, float]:
    """Take, along the order, each time the next TDC that comes after the firing before."""
    start = order.index(1)
    angles: dict[int, float] = {1: 0.0}
    at = 0.0
    for cylinder in (*order[start + 1 :], *order[:start]):
        step = turn_deg(round(tdc[cylinder] - at, DECIMALS))
        at = round(at + (step or TURN_DEG), DECIMALS)
        angles[cylinder] = at
    if at > CYCLE_DEG - 1e-9:
        refuse("firing_order", order, "does not fit into two turns of this crankshaft.",
               "Check the crankpin and bank angles.")  # fmt: skip
    return angles


def _even_layout(order: tuple[int, ...], bank_deg: Mapping[int, float]) -> CylinderLayout:
    firing = firing_angles_deg(order)
    return CylinderLayout(
        tuple(
            CylinderPlace(c, bank_deg[c], turn_deg(bank_deg[c] - bank_deg[1] - firing[c]))
            for c in sorted(order)
        ),
        order,
    )


def _vee(order: tuple[int, ...], bank_angle_deg: float, left: frozenset[int]) -> CylinderLayout:
    half = bank_angle_deg / 2
    return _even_layout(order, {c: half if c in left else -half for c in order})


def _left_bank(order: tuple[int, ...], left: Sequence[int]) -> frozenset[int]:
    found = tuple(whole("left_cylinders", c, at_least=1) for c in sequence("left_cylinders", left))
    if not set(found) < set(order) or len(set(found)) != len(found) or not found:
        refuse("left_cylinders", found, "must name some, not all, of the cylinders, each once.")
    return frozenset(found)


def _usual_left_banks(cylinders: int) -> tuple[frozenset[int], ...]:
    if cylinders < 2:
        refuse("firing_order", (1,), "one cylinder makes no vee.")
    odd, first = range(1, cylinders + 1, 2), range(1, cylinders // 2 + 1)
    every = frozenset(range(1, cylinders + 1))
    return tuple(left for one in (odd, first) for left in (frozenset(one), every - set(one)))


def _splay_of_pairs(layout: CylinderLayout) -> float:
    """Sum of the splays between the cylinders that face each other, to a millidegree."""
    banks = sorted({place.bank_deg for place in layout.places})
    rows = ([p.number for p in layout.places if p.bank_deg == bank] for bank in banks)
    pairs = zip(*rows, strict=False)
    return round(sum(abs(layout.pin_splay_deg(a, b)) for a, b in pairs), 3)


def _order_of_length(firing_order: Sequence[int], cylinders: int) -> tuple[int, ...]:
    order = firing_order_of(firing_order)
    if len(order) != cylinders:
        refuse("firing_order", order, f"must name {cylinders} cylinders.")
    return order


def _pins_are_shared_across(layout: CylinderLayout, *, pins: int) -> bool:
    """Whether each crankpin direction carries as many cylinders of the one bank as of the other."""
    sides: dict[float, list[bool]] = {}
    for place in layout.places:
        sides.setdefault(round(place.pin_deg, 6) % 360, []).append(place.bank_deg > 0)
    return len(sides) == pins and all(s.count(True) == s.count(False) for s in sides.values())
