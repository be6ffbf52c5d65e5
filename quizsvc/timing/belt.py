"""Belts and pulleys: length, wrap, speed, span frequency, grip."""

from __future__ import annotations

import math

from quizsvc.timing.quantity import number, refuse

RUN_IN_MINUTES = 10.0  # a belt that has run this long counts as used; common practice, no source


def open_belt_length_mm(small_mm: float, large_mm: float, centre_mm: float) -> float:
    """Length of an open belt over two pulleys of these diameters, exactly.

    2C cosα + π(D+d)/2 + α(D−d), with sinα = (D−d)/2C.

    >>> round(open_belt_length_mm(100, 100, 200), 3)  # 400 + 100π
    714.159
    """
    lean = math.radians(_lean_deg(small_mm, large_mm, centre_mm))
    strands = 2 * centre_mm * math.cos(lean)
    return strands + math.pi * (large_mm + small_mm) / 2 + lean * (large_mm - small_mm)


def small_pulley_wrap_deg(small_mm: float, large_mm: float, centre_mm: float) -> float:
    """Wrap on the first pulley of an open belt: 180 − 2α; on the second it is 360 less that.

    >>> small_pulley_wrap_deg(50, 250, 200)
    120.0
    """
    return round(180 - 2 * _lean_deg(small_mm, large_mm, centre_mm), 12)


def pulley_speed_rpm(driver_rpm: float, driver_mm: float, driven_mm: float) -> float:
    """Speed of the driven pulley without slip; diameters, or radii, or teeth, of both.

    >>> pulley_speed_rpm(2000, 150, 60)
    5000.0
    """
    number("driver_rpm", driver_rpm)
    rim = driver_rpm * number("driver_mm", driver_mm, above=0)
    return rim / number("driven_mm", driven_mm, above=0)


def span_tension_n(frequency_hz: float, mass_kg_m: float, span_m: float) -> float:
    """Tension of a span from the note it gives when plucked: 4 m L² f².

    ``mass_kg_m`` is the mass of one metre of belt, ``span_m`` the free length. Neglected: the
    belt's own stiffness, which raises the note on short spans. Source: belt texts.

    >>> round(span_tension_n(100, 0.1, 0.2), 9)
    160.0
    """
    number("frequency_hz", frequency_hz, at_least=0)
    number("mass_kg_m", mass_kg_m, above=0)
    return 4 * mass_kg_m * (number("span_m", span_m, above=0) * frequency_hz) ** 2


def span_frequency_hz(tension_n: float, mass_kg_m: float, span_m: float) -> float:
    """Note of a plucked span at a tension: √(T/m) / 2L.

    >>> round(span_frequency_hz(624, 0.11, 0.17), 1)
    221.5
    """
    number("tension_n", tension_n, at_least=0)
    speed = math.sqrt(tension_n / number("mass_kg_m", mass_kg_m, above=0))
    return speed / (2 * number("span_m", span_m, above=0))


def capstan_ratio(friction: float, wrap_deg: float) -> float:
    """Greatest ratio of the tensions either side of a wrap before the belt slips: e^(μθ).

    >>> round(capstan_ratio(0.6, 5 * 360))
    153552935
    """
    number("friction", friction, at_least=0, at_most=2)
    wrap = math.radians(number("wrap_deg", wrap_deg, at_least=0))
    if friction * wrap > 700:
        refuse("wrap_deg", wrap_deg, "gives a ratio beyond any number.")
    return math.exp(friction * wrap)


def setting_for_age(minutes_run: float, *, new: float, used: float) -> float:
    """Choose the setting of a new or of a used belt by how long it has run.

    A belt counts as used after RUN_IN_MINUTES. Source: common practice, no source; the maker's
    information comes first.

    >>> setting_for_age(0, new=600, used=400), setting_for_age(30, new=600, used=400)
    (600, 400)
    """
    ran = number("minutes_run", minutes_run, at_least=0)
    number("new", new)
    number("used", used)
    return used if ran >= RUN_IN_MINUTES else new


def _lean_deg(small_mm: float, large_mm: float, centre_mm: float) -> float:
    small = number("small_mm", small_mm, above=0)
    large = number("large_mm", large_mm, above=0)
    if number("centre_mm", centre_mm, above=0) <= (small + large) / 2:
        refuse("centre_mm", centre_mm,
               f"is too small: the pulleys touch below {(small + large) / 2:g} mm.",
               "Set the centres further apart.")  # fmt: skip
    return math.degrees(math.asin((large - small) / 2 / centre_mm))
