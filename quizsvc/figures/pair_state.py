"""What the sprocket pair shows: sprockets, marks, and the strand whose pins are counted."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts, strand_rows
from quizsvc.figures.chain_line import pin_places
from quizsvc.figures.pair_geometry import PairLayout, lay_out
from quizsvc.figures.scene import Point


@dataclass(frozen=True, slots=True)
class Sprocket:
    """One sprocket: what it sits on, its teeth, and where its mark points (clock angle)."""

    name: str
    teeth: int
    mark_deg: float


@dataclass(frozen=True, slots=True)
class SprocketPair:
    """The first sprocket drives the second.

    ``pins`` are the pitches from the first mark to the second on the ``counted`` strand, "tight"
    (which the driver pulls) or "slack". ``arrangement``: the second stands "above" the first or
    "beside" it, to the right. ``strands_named``: write which strand is tight before the answer.
    """

    first: Sprocket
    second: Sprocket
    pins: int
    counted: str = "tight"
    rotation: str = "clockwise"
    arrangement: str = "above"
    strands_named: bool = True
    note: str = ""


def describe(state: SprocketPair) -> str:
    place = "above it" if state.arrangement == "above" else "to the right of it"
    strand = f"{state.counted} strand" if state.strands_named else "strand to be counted"
    counted = strand_rows.counting_words(state.pins, state.first.name, state.second.name)
    return (
        f"Seen from the chain end, turning {state.rotation}. The {state.first.name} sprocket, "
        f"{state.first.teeth} teeth, drives the {state.second.name} sprocket, "
        f"{state.second.teeth} teeth, {place}. Marks: {state.first.name} at "
        f"{parts.clock_words(state.first.mark_deg)}, {state.second.name} at "
        f"{parts.clock_words(state.second.mark_deg)}. The {strand} runs on the "
        f"{side_words(state)}. {counted}" + (f" {state.note}" if state.note else "")
    )


def check(state: SprocketPair) -> None:
    """Raise now what `draw` would raise later, so that a question can choose other numbers."""
    check_words(state)
    layout_of(state)


def check_words(state: SprocketPair) -> None:
    choices = (
        ("counted", state.counted, ("tight", "slack")),
        ("rotation", state.rotation, ("clockwise", "anticlockwise")),
        ("arrangement", state.arrangement, ("above", "beside")),
    )
    for name, value, allowed in choices:
        if value not in allowed:
            raise InputError(
                f"must be {' or '.join(map(repr, allowed))}.",
                field=name,
                value=value,
                remedy="Choose one of these.",
            )


def layout_of(state: SprocketPair) -> PairLayout:
    return lay_out(
        (state.first.teeth, state.second.teeth),
        (state.first.mark_deg, state.second.mark_deg),
        state.pins,
        counted_tight=state.counted == "tight",
        clockwise=state.rotation == "clockwise",
        axis_deg=0.0 if state.arrangement == "above" else 90.0,
    )


def counted_places(state: SprocketPair, layout: PairLayout) -> list[Point]:
    """Return the counted strand's pins from the first mark to the second."""
    if state.counted == "slack":
        return pin_places(layout.path, 1.0, layout.first_pitch, state.pins + 1, layout.slack_step)
    start = layout.first_pitch - state.pins * layout.tight_step
    return pin_places(layout.path, 1.0, start, state.pins + 1, layout.tight_step)[::-1]


def other_places(state: SprocketPair, layout: PairLayout) -> list[Point]:
    """Return the other strand's pins between the marks, in running direction."""
    if state.counted == "slack":
        start = layout.first_pitch + layout.slack_pins * layout.slack_step + layout.tight_step
        return pin_places(layout.path, 1.0, start, layout.tight_pins - 1, layout.tight_step)
    start = layout.first_pitch + layout.slack_step
    return pin_places(layout.path, 1.0, start, layout.slack_pins - 1, layout.slack_step)


def counted_side(state: SprocketPair) -> int:
    """Return +1 where the counted strand lies to the right of (or below) the line of centres."""
    left = (state.counted == "slack") == (state.rotation == "clockwise")
    return -1 if left else 1


def side_words(state: SprocketPair) -> str:
    after = counted_side(state) > 0
    if state.arrangement == "above":
        return "right" if after else "left"
    return "lower side" if after else "upper side"
