"""Valve events around the crank circle: where each stands, and how it is said."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from quizsvc.errors import InputError

EVENTS = ("IVO", "IVC", "EVO", "EVC")
SPANS = (
    "intake duration",
    "exhaust duration",
    "overlap",
    "intake lobe centre",
    "exhaust lobe centre",
)
_WORDS = {
    "IVO": "intake opens",
    "IVC": "intake closes",
    "EVO": "exhaust opens",
    "EVC": "exhaust closes",
}


@dataclass(frozen=True, slots=True)
class EventCircle:
    """Events in crank degrees as on a cam card; negative means the other side of the dead centre.

    ``hidden`` events stand in their place with "?" instead of their number. ``span`` is the
    thing asked about (one of `SPANS`, or empty): it is marked "?" and, in the solution, shown
    with its number. ``answer`` of a hidden event or span is computed from the events.
    """

    ivo_btdc: float
    ivc_abdc: float
    evo_bbdc: float
    evc_atdc: float
    hidden: tuple[str, ...] = ()
    span: str = ""
    note: str = ""
    lettered: bool = False  # A to D, clockwise from TDC, instead of names and numbers: to point at


def letters(state: EventCircle) -> dict[str, str]:
    """Return the letter of each event, clockwise from TDC: {"IVO": "D", …}."""
    round_the_clock = sorted(EVENTS, key=lambda name: clock_deg(state, name) % 360)
    return dict(zip(round_the_clock, "ABCD", strict=True))


def describe(state: EventCircle) -> str:
    if state.lettered:
        return _describe_lettered(state)
    said = ", ".join(
        f"{_WORDS[name]} at a place asked for"
        if name in state.hidden
        else f"{_WORDS[name]} {_event_words(value, name)}"
        for name, value in each_event(state)
    )
    asked = f" The {state.span} is asked for." if state.span else ""
    note = f" {state.note}" if state.note else ""
    return (
        "Circle of one crankshaft turn, clockwise, TDC at the top and BDC at the bottom; the "
        f"intake stays open along one band, the exhaust along another: {said}.{asked}{note}"
    )


def _describe_lettered(state: EventCircle) -> str:
    values = dict(each_event(state))
    named = letters(state)
    said = ", ".join(
        f"{named[name]} at an end of the {'intake' if name[0] == 'I' else 'exhaust'} band, "
        f"{_event_words(values[name], name)}"
        for name in sorted(EVENTS, key=named.__getitem__)
    )
    note = f" {state.note}" if state.note else ""
    return (
        "Circle of one crankshaft turn, clockwise, TDC at the top and BDC at the bottom; the "
        "intake stays open along one band, the exhaust along another. Four places are marked: "
        f"{said}.{note}"
    )


def clock_deg(state: EventCircle, name: str) -> float:
    """Return where an event stands on the circle, clockwise from TDC at the top."""
    return {
        "IVO": -state.ivo_btdc,
        "IVC": 180 + state.ivc_abdc,
        "EVO": 180 - state.evo_bbdc,
        "EVC": state.evc_atdc,
    }[name]


def span_deg(state: EventCircle) -> tuple[float, float]:
    """Return where the asked span starts on the circle and how far it runs, clockwise."""
    intake = 180 + state.ivo_btdc + state.ivc_abdc
    exhaust = 180 + state.evo_bbdc + state.evc_atdc
    return {
        "intake duration": (-state.ivo_btdc, intake),
        "exhaust duration": (180 - state.evo_bbdc, exhaust),
        "overlap": (-state.ivo_btdc, state.ivo_btdc + state.evc_atdc),
        "intake lobe centre": (0.0, intake / 2 - state.ivo_btdc),
        "exhaust lobe centre": (
            state.evc_atdc - exhaust / 2,
            exhaust / 2 - state.evc_atdc,
        ),
    }[state.span]


def check(state: EventCircle) -> None:
    for name in state.hidden:
        if name not in EVENTS:
            raise InputError(
                "there is no such valve event.",
                field="hidden",
                value=name,
                remedy=f"Give some of {', '.join(EVENTS)}.",
            )
    if state.span and state.span not in SPANS:
        raise InputError(
            "there is no such span.",
            field="span",
            value=state.span,
            remedy=f"Give one of {', '.join(SPANS)}, or leave it empty.",
        )


def each_event(state: EventCircle) -> Iterator[tuple[str, float]]:
    yield "IVO", state.ivo_btdc
    yield "IVC", state.ivc_abdc
    yield "EVO", state.evo_bbdc
    yield "EVC", state.evc_atdc


def degrees_text(value: float) -> str:
    return f"{abs(value):.1f}".removesuffix(".0")


def side_of(value: float, name: str) -> str:
    before = name in {"IVO", "EVO"}
    centre = "TDC" if name in {"IVO", "EVC"} else "BDC"
    return ("B" if before == (value >= 0) else "A") + centre


def _event_words(value: float, name: str) -> str:
    side = side_of(value, name)
    return f"{degrees_text(value)}° {'before' if side[0] == 'B' else 'after'} {side[1:]}"
