"""The slider-crank: piston drop, speed, safe position, and the volumes that follow from it."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from itertools import pairwise

from quizsvc.timing.cycle import CylinderLayout
from quizsvc.timing.quantity import number, refuse, turn_deg, whole

EQUAL_MM = 1e-9  # drops nearer than this count as the same
STEPS = 60  # halvings of at most 360°: far below rounding


@dataclass(frozen=True, slots=True)
class SliderCrank:
    """Stroke, rod and piston-pin offset of one cylinder.

    ``stroke_mm`` is twice the throw, as usually stated; with an offset the piston travels a
    little more (``travel_mm``). ``pin_offset_mm`` is positive towards the side to which the
    crankpin moves after TDC. Angles ATDC are counted from the piston's true TDC, at which the
    crankpin stands ``tdc_deg`` past the bore's direction.

    Raises InputError when rod ≤ throw + offset: the crank could not go round.

    >>> crank = SliderCrank(stroke_mm=80, rod_mm=140)
    >>> crank.throw_mm, crank.drop_mm(180)
    (40.0, 80.0)
    """

    stroke_mm: float
    rod_mm: float
    pin_offset_mm: float = 0.0
    throw_mm: float = field(init=False)
    travel_mm: float = field(init=False)
    tdc_deg: float = field(init=False)
    bdc_deg: float = field(init=False)
    _top_mm: float = field(init=False, repr=False)

    def __post_init__(self) -> None:
        throw = number("stroke_mm", self.stroke_mm, above=0) / 2
        rod = number("rod_mm", self.rod_mm, above=0)
        offset = number("pin_offset_mm", self.pin_offset_mm)
        if rod <= throw + abs(offset):
            refuse("rod_mm", rod, f"must be longer than throw + offset = {throw + abs(offset):g}.",
                   "Check rod, stroke and offset.")  # fmt: skip
        top = math.sqrt((rod + throw) ** 2 - offset**2)
        bottom = math.sqrt((rod - throw) ** 2 - offset**2)
        object.__setattr__(self, "throw_mm", throw)
        object.__setattr__(self, "travel_mm", top - bottom)
        object.__setattr__(self, "tdc_deg", math.degrees(math.asin(offset / (rod + throw))))
        object.__setattr__(self, "bdc_deg", 180 + math.degrees(math.asin(offset / (rod - throw))))
        object.__setattr__(self, "_top_mm", top)

    def drop_mm(self, atdc_deg: float) -> float:
        """Distance of the piston below its TDC, in [0, travel]; any angle after TDC.

        x = r cosθ + √(L² − (r sinθ − e)²) is the pin's height. Mid-stroke comes before 90°,
        as the rod's lean adds to the drop.

        >>> round(SliderCrank(86, 143).drop_mm(90), 3)
        49.618
        """
        angle = math.radians(number("atdc_deg", atdc_deg) + self.tdc_deg)
        across = self.throw_mm * math.sin(angle) - self.pin_offset_mm
        height = self.throw_mm * math.cos(angle) + math.sqrt(self.rod_mm**2 - across**2)
        return max(0.0, self._top_mm - height)

    def angle_for_drop_deg(self, drop_mm: float) -> float:
        """Crank degrees after TDC, going down, at which the piston stands this deep.

        The cosine rule on crank centre, crankpin and piston pin. In [0, bdc − tdc].

        >>> round(SliderCrank(86, 143).angle_for_drop_deg(43), 2)
        81.35
        """
        number("drop_mm", drop_mm, at_least=0, at_most=self.travel_mm)
        height = self._top_mm - drop_mm
        reach = math.hypot(height, self.pin_offset_mm)
        cosine = (self.throw_mm**2 + reach**2 - self.rod_mm**2) / (2 * self.throw_mm * reach)
        lean = math.degrees(math.atan2(self.pin_offset_mm, height))
        past = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
        return max(0.0, lean + past - self.tdc_deg)

    def rod_lean_deg(self, atdc_deg: float) -> float:
        """Angle of the rod from the bore's axis, positive where the crankpin moves after TDC.

        sin β = (r sinθ − e) / L.

        >>> round(SliderCrank(86, 143).rod_lean_deg(90), 2)
        17.5
        """
        angle = math.radians(number("atdc_deg", atdc_deg) + self.tdc_deg)
        across = self.throw_mm * math.sin(angle) - self.pin_offset_mm
        return math.degrees(math.asin(across / self.rod_mm))

    def speed_m_s(self, atdc_deg: float, rpm: float) -> float:
        """Piston speed, positive going down.

        >>> SliderCrank(86, 143).speed_m_s(0, 3000)
        0.0
        """
        turning = number("rpm", rpm, at_least=0) * math.tau / 60
        return self._drop_per_radian(number("atdc_deg", atdc_deg)) * turning / 1000

    def peak_speed_deg(self) -> float:
        """Crank degrees after TDC at which the piston goes down fastest; before 90°.

        >>> round(SliderCrank(2 * 1.6535, 6.024).peak_speed_deg(), 2)
        75.62
        """
        low, high = 0.0, self.bdc_deg - self.tdc_deg
        for _ in range(STEPS):
            middle = (low + high) / 2
            if self._drop_per_radian_squared(middle) > 0:
                low = middle
            else:
                high = middle
        return (low + high) / 2

    def _drop_per_radian(self, atdc_deg: float) -> float:
        angle = math.radians(atdc_deg + self.tdc_deg)
        across = self.throw_mm * math.sin(angle) - self.pin_offset_mm
        along = math.sqrt(self.rod_mm**2 - across**2)
        moved = self.throw_mm * (math.sin(angle) + across * math.cos(angle) / along)
        return 0.0 if abs(moved) < EQUAL_MM else moved

    def _drop_per_radian_squared(self, atdc_deg: float) -> float:
        angle = math.radians(atdc_deg + self.tdc_deg)
        across = self.throw_mm * math.sin(angle) - self.pin_offset_mm
        aslant = self.throw_mm * math.cos(angle)  # change of `across` per radian
        along = math.sqrt(self.rod_mm**2 - across**2)
        lean = (aslant**2 - across * self.throw_mm * math.sin(angle)) / along
        return aslant + lean + (across * aslant) ** 2 / along**3


@dataclass(frozen=True, slots=True)
class LeastDrop:
    """The shallowest piston or pistons at a crank angle."""

    drop_mm: float
    cylinders: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SafePosition:
    """A crank angle, after TDC of cylinder 1, at which the shallowest piston is deepest."""

    atdc_deg: float
    drop_mm: float
    cylinders: tuple[int, ...]  # the shallowest there


def least_drop(layout: CylinderLayout, slider: SliderCrank, crank_deg: float) -> LeastDrop:
    """Find the least piston drop over all cylinders, and whose it is.

    >>> from quizsvc.timing.cycle import inline_layout
    >>> least_drop(inline_layout((1, 3, 4, 2)), SliderCrank(86, 143), 360)
    LeastDrop(drop_mm=0.0, cylinders=(1, 4))
    """
    number("crank_deg", crank_deg)
    drops = {c: slider.drop_mm(crank_deg - layout.tdc_deg(c)) for c in layout.cylinders}
    least = min(drops.values())
    shallow = tuple(sorted(c for c, drop in drops.items() if drop - least <= EQUAL_MM))
    return LeastDrop(least, shallow)


def safe_positions(layout: CylinderLayout, slider: SliderCrank) -> tuple[SafePosition, ...]:
    """Find every crank angle in [0, 360) at which the shallowest piston is as deep as it can be.

    Between two neighbouring TDCs the one passed and the one ahead are the shallowest, the first
    sinking, the second rising; they pass each other at the best angle of that gap (its middle
    without pin offset). It clears pistons only: an open valve may still meet another valve.
    Source: common practice (60° ATDC for an even-firing six), no source.

    >>> from quizsvc.timing.cycle import inline_layout
    >>> [at.atdc_deg for at in safe_positions(inline_layout((1, 3, 4, 2)), SliderCrank(86, 143))]
    [90.0, 270.0]
    """
    tdcs = sorted({round(layout.tdc_deg(c), 9) for c in layout.cylinders})
    angles = [_best_between(slider, a, b) for a, b in pairwise((*tdcs, tdcs[0] + 360))]
    found = [(angle, least_drop(layout, slider, angle)) for angle in angles]
    deepest = max(least.drop_mm for _, least in found)
    return tuple(
        SafePosition(angle, least.drop_mm, least.cylinders)
        for angle, least in sorted(found, key=lambda pair: pair[0])
        if deepest - least.drop_mm <= 1e-6
    )


def safe_position(layout: CylinderLayout, slider: SliderCrank) -> SafePosition:
    """Give the first safe position after TDC of cylinder 1.

    >>> from quizsvc.timing.cycle import inline_layout
    >>> safe_position(inline_layout((1, 5, 3, 6, 2, 4)), SliderCrank(86, 143)).atdc_deg
    60.0
    """
    return safe_positions(layout, slider)[0]


def cylinder_cc(bore_mm: float, height_mm: float) -> float:
    """Volume of a cylinder in cm³; a height below zero counts against the volume.

    >>> round(cylinder_cc(20, 10), 4)
    3.1416
    """
    return math.pi / 4 * number("bore_mm", bore_mm, above=0) ** 2 * number(
        "height_mm", height_mm
    ) / 1000  # fmt: skip


def displacement_cc(bore_mm: float, stroke_mm: float, cylinders: int = 1) -> float:
    """Volume swept by all pistons, in cm³.

    >>> round(displacement_cc(87, 69, 4))
    1641
    """
    number("stroke_mm", stroke_mm, above=0)
    return cylinder_cc(bore_mm, stroke_mm) * whole("cylinders", cylinders, at_least=1)


def compression_ratio(
    swept_cc: float,
    chamber_cc: float,
    *,
    gasket_cc: float = 0.0,
    deck_cc: float = 0.0,
    dish_cc: float = 0.0,
) -> float:
    """Volume over the piston at BDC by that at TDC, of one cylinder: (swept + rest) / rest.

    ``deck_cc`` is negative when the crown stands proud, ``dish_cc`` negative for a dome.

    >>> compression_ratio(450, 40, gasket_cc=6, deck_cc=4)
    10.0
    """
    number("swept_cc", swept_cc, above=0)
    number("chamber_cc", chamber_cc, above=0)
    number("gasket_cc", gasket_cc, at_least=0)
    rest = chamber_cc + gasket_cc + number("deck_cc", deck_cc) + number("dish_cc", dish_cc)
    number("chamber_cc + gasket_cc + deck_cc + dish_cc", rest, above=0)
    return (swept_cc + rest) / rest


def wheel_error_deg(reading_before_deg: float, reading_after_deg: float) -> float:
    """Give the error of a degree wheel's zero from a positive stop: half the difference.

    Readings where the piston meets the stop, the first before TDC and the second after it, both
    counted up from the wheel's zero. Positive: the pointer meets zero that much after true TDC,
    so at true TDC the wheel reads that much before TDC. Source: degree-wheel practice.

    >>> wheel_error_deg(36.75, 35.25)
    0.75
    """
    before = number("reading_before_deg", reading_before_deg, above=-180, below=180)
    after = number("reading_after_deg", reading_after_deg, above=-180, below=180)
    if before + after <= 0:
        refuse("reading_after_deg", reading_after_deg, "leaves no angle between the two stops.")
    return (before - after) / 2


def stop_angle_deg(reading_before_deg: float, reading_after_deg: float) -> float:
    """Angle each side of TDC at which the piston meets the stop: the mean of the readings.

    >>> stop_angle_deg(36.75, 35.25)
    36.0
    """
    return reading_before_deg - wheel_error_deg(reading_before_deg, reading_after_deg)


def _best_between(slider: SliderCrank, first_deg: float, next_deg: float) -> float:
    """Angle at which the piston past its TDC and the one ahead of its TDC are equally deep."""
    if next_deg - first_deg > 360 - EQUAL_MM:
        return turn_deg(first_deg + slider.bdc_deg - slider.tdc_deg)
    if not slider.pin_offset_mm:
        return turn_deg((first_deg + next_deg) / 2)
    low, high = first_deg, next_deg
    for _ in range(STEPS):
        middle = (low + high) / 2
        if slider.drop_mm(middle - first_deg) < slider.drop_mm(middle - next_deg):
            low = middle
        else:
            high = middle
    return turn_deg((low + high) / 2)
