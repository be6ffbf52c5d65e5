"""A count from mark to mark along a strand, and the verdict on the camshaft in words."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.items.model import Asked, Kind, Step, Value
from quizsvc.items.options import number_text
from quizsvc.items.phrases import counted
from quizsvc.timing.marks import MarkVerdict, Side, check_pin_count, verdict_of_teeth

ASKED = Asked("crank_error_deg", "°", 1)
TOLERANCE_DEG = 0.1
STRANDS: dict[Side, str] = {
    "tight": "the tight strand, which the crankshaft pulls",
    "slack": "the slack strand, where the tensioner is",
}


@dataclass(frozen=True, slots=True)
class Count:
    """Pins of a chain or teeth of a belt on a strand from mark to mark, specified and found."""

    specified: int
    counted: int
    cam_teeth: int
    side: Side

    @property
    def verdict(self) -> MarkVerdict:
        return check_pin_count(self.specified, self.counted, self.cam_teeth, self.side)

    def with_more(self, more: int) -> float:
        """Crank error in degrees that follows if so many more had been counted."""
        found = self.counted + more
        return check_pin_count(self.specified, found, self.cam_teeth, self.side).crank_deg


def asked_for(kind: Kind) -> str:
    if kind is Kind.NUMBER:
        return (
            "By how many crank degrees is the camshaft out of time? Late is positive, early "
            "negative, in time 0. Answer in crank degrees, to one decimal place."
        )
    return (
        "Is the camshaft in time, early (advanced) or late (retarded), and by how many crank "
        "degrees, to one decimal place?"
    )


def verdict_text(value: Value) -> str:
    deg = round(float(value), 1)  # type: ignore[arg-type]
    if deg == 0:
        return "in time"
    size = number_text(abs(deg), 1, "°")
    return f"{size} late (retarded)" if deg > 0 else f"{size} early (advanced)"


def degrees_steps(count: Count) -> tuple[Step, Step]:
    """Return the steps from teeth to crank degrees, for a count that is off."""
    per_tooth = verdict_of_teeth(1, count.cam_teeth).crank_deg
    verdict, off = count.verdict, abs(count.counted - count.specified)
    return (
        Step(
            f"One tooth is 720° ÷ {count.cam_teeth} = {number_text(per_tooth, 1, '°')} of crank.",
            per_tooth,
            "°",
        ),
        Step(
            f"{counted(off, 'tooth', 'teeth')}: {verdict_text(verdict.crank_deg)}.",
            verdict.crank_deg,
            "°",
        ),
    )
