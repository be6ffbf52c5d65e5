"""What the cut cylinder shows: the piston, rod and crank in mm, and how it is said."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures import parts
from quizsvc.figures.scene import Point, at_clock
from quizsvc.figures.section_valves import SectionValve, described, lowest_mm, roof_mm
from quizsvc.timing.crank import SliderCrank

HEAD_MM, SKIRT_MM, PIN_DOWN_MM = 62.0, 44.0, 28.0
QUESTIONS = ("", "drop", "angle", "intake gap", "exhaust gap")
_LOOKS = {  # what is seen where a letter stands, without its name
    "valve": "a stem in the head with a disc at its foot",
    "cylinder wall": "the hatched side along which the piston slides",
    "piston ring": "a line across the piston near its top",
    "connecting rod": "the long bar between piston and crank",
    "piston pin": "the round at the upper end of the bar",
    "main journal": "the round about which the crank turns",
    "crankpin": "the round at the lower end of the bar",
}


@dataclass(frozen=True, slots=True)
class CylinderSection:
    """A cylinder seen from its drive's ``end``, turning clockwise, the intake valve on the left.

    ``crank_deg`` is counted from this cylinder's TDC. ``crown_below_mm``: the flat crown below
    the head's plane at TDC. ``asked``: one of `QUESTIONS`. ``angle_shown`` writes the crank
    angle at the crank.
    """

    bore_mm: float
    stroke_mm: float
    rod_mm: float
    crank_deg: float
    intake: SectionValve
    exhaust: SectionValve
    pin_offset_mm: float = 0.0
    crown_below_mm: float = 1.0
    asked: str = ""
    angle_shown: bool = True
    note: str = ""
    lettered: bool = False  # letters on the parts instead of angle and question: to point at
    end: str = "chain end"


def describe(state: CylinderSection) -> str:
    if state.lettered:
        return _describe_lettered(state)
    tenths = round(10 * drop_mm(state) / state.stroke_mm)
    where = {0: "at or close to TDC", 10: "at or close to BDC"}.get(
        tenths, f"about {tenths} tenths of the stroke below TDC"
    )
    turned = state.crank_deg % 360
    moving = "at rest" if turned in {0, 180} else f"moving {'down' if turned < 180 else 'up'}"
    angle = ""
    if state.angle_shown and state.asked != "angle":
        angle = f" The crankpin stands {parts.plain(state.crank_deg % 360)}° after TDC."
    contact = "".join(
        f" The {name} valve and the piston touch."
        for name, valve in (("intake", state.intake), ("exhaust", state.exhaust))
        if gap_mm(state, valve) <= 0
    )
    asked = {
        "": "",
        "drop": " Asked: how far the piston stands below TDC.",
        "angle": " Asked: the crank angle.",
        "intake gap": " Asked: the gap between intake valve and piston.",
        "exhaust gap": " Asked: the gap between exhaust valve and piston.",
    }[state.asked]
    note = f" {state.note}" if state.note else ""
    return (
        f"One cylinder cut open, seen from the {state.end}, turning clockwise; intake valve on the "
        f"left, exhaust valve on the right. Piston {where}, {moving}. "
        f"{described(state.intake, 'intake')} {described(state.exhaust, 'exhaust')}"
        f"{contact}{angle}{asked}{note}"
    )


def _describe_lettered(state: CylinderSection) -> str:
    named = letters(state)
    seen = ", ".join(f"{named[name]} on {look}" for name, look in _LOOKS.items())
    note = f" {state.note}" if state.note else ""
    return (
        "One cylinder cut open: the head above, the piston in its bore, the crank below. Letters "
        f"stand on its parts: {seen}.{note}"
    )


def letters(state: CylinderSection) -> dict[str, str]:
    """Return the letter of each part, by its name."""
    return {name: "ABCDEFG"[number] for number, (name, _) in enumerate(named_places(state))}


def named_places(state: CylinderSection) -> tuple[tuple[str, Point], ...]:
    """Return each part and a place on it in mm, roughly from top to bottom."""
    crank, crankpin, pin = joints(state)
    wall = state.bore_mm / 2 + 4
    return (
        ("valve", (roof_mm(state.intake, -1, state.bore_mm)[0][0] - 6, HEAD_MM * 0.55)),
        ("cylinder wall", (wall, -state.stroke_mm * 0.5)),
        ("piston ring", (-state.bore_mm / 2 + 10, crown_mm(state) - 13)),
        ("connecting rod", ((pin[0] + crankpin[0]) / 2, (pin[1] + crankpin[1]) / 2)),
        ("piston pin", pin),
        ("main journal", crank),
        ("crankpin", crankpin),
    )


def gap_mm(state: CylinderSection, valve: SectionValve) -> float:
    """Return the gap along the bore between a valve's lowest edge and the crown under it."""
    return lowest_mm(valve) - crown_mm(state) + valve.pocket_mm


def slider_of(state: CylinderSection) -> SliderCrank:
    return SliderCrank(state.stroke_mm, state.rod_mm, state.pin_offset_mm)


def drop_mm(state: CylinderSection) -> float:
    return slider_of(state).drop_mm(state.crank_deg)


def crown_mm(state: CylinderSection) -> float:
    """Return the crown's height over the head's plane, in mm; below it is negative."""
    return -state.crown_below_mm - drop_mm(state)


def joints(state: CylinderSection) -> tuple[Point, Point, Point]:
    """Return crank centre, crankpin and piston pin, in mm from the bore's middle at the head."""
    slider = slider_of(state)
    x, y = at_clock((0, 0), slider.throw_mm, state.crank_deg + slider.tdc_deg)
    pin = (state.pin_offset_mm, crown_mm(state) - PIN_DOWN_MM)
    across = x - state.pin_offset_mm
    crankpin = (x, pin[1] - (state.rod_mm**2 - across**2) ** 0.5)
    return (0.0, crankpin[1] + y), crankpin, pin
