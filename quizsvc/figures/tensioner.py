"""A chain tensioner from the side: body, plunger, wear groove and a millimetre scale."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.errors import InputError
from quizsvc.figures import parts
from quizsvc.figures.scene import (
    Anchor,
    Ink,
    Label,
    Lines,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
)

FACE = 170.0  # where the plunger leaves the body
AXIS = 110.0
HALF = 24.0
LONGEST = 230.0  # picture units for the plunger's longest extension


@dataclass(frozen=True, slots=True)
class TensionerSide:
    """A plunger drawn out by ``extension_mm``.

    ``groove_shown``: draw the wear groove before the answer, where it stands clear of the body.
    ``asked``: "groove" or "extension" or nothing. ``extension_new_mm``, where not negative, is
    drawn as a tick with the word "new".
    """

    extension_mm: float
    groove_at_mm: float
    longest_mm: float
    extension_new_mm: float = -1.0
    groove_shown: bool = False
    asked: str = ""
    note: str = ""


def describe(state: TensionerSide) -> str:
    extension = (
        "asked for; the scale shows it"
        if state.asked == "extension"
        else f"{parts.plain(state.extension_mm)} mm"
    )
    tenths = _tenths(state) if state.asked == "extension" else ""
    new = (
        f" A tick marks the extension when new, {parts.plain(state.extension_new_mm)} mm."
        if state.extension_new_mm >= 0
        else ""
    )
    groove = ""
    if state.groove_shown:
        seen = state.extension_mm >= state.groove_at_mm
        groove = " The wear groove stands clear of the body." if seen else " No groove is seen."
    elif state.asked == "groove":
        groove = " Whether the wear groove is seen is asked; the plunger's side is covered."
    note = f" {state.note}" if state.note else ""
    return (
        f"Chain tensioner from the side, its plunger drawn out of the body over a millimetre "
        f"scale. Extension: {extension}{tenths}.{new}{groove}{note}"
    )


def _tenths(state: TensionerSide) -> str:
    """Say where the plunger's end stands between two numbers of the scale, as one sees it."""
    below = int(state.extension_mm // 5 * 5)
    ticks = round(state.extension_mm - below)
    return f", its end stands {ticks} small ticks past the {below} of the scale"


def draw(state: TensionerSide, *, solution: bool = False) -> Scene:
    if not 0 <= state.extension_mm <= state.longest_mm:
        raise InputError(
            "the plunger cannot stand so far out.",
            field="extension_mm",
            value=state.extension_mm,
            remedy=f"Give 0 to {state.longest_mm} mm.",
        )
    shapes: list[Shape] = [
        *_plunger(state),
        *_groove(state, solution=solution),
        *_body(),
        *_scale(state),
        *_extension(state, solution=solution),
    ]
    words, height = parts.caption(state.note or "The scale is in millimetres from the body.", 232)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _at(state: TensionerSide, mm: float) -> float:
    return FACE + LONGEST * mm / state.longest_mm


def _plunger(state: TensionerSide) -> list[Shape]:
    end = _at(state, state.extension_mm)
    half = HALF * 0.62
    return [
        Polyline(
            (
                (FACE - 20, AXIS - half),
                (end - 8, AXIS - half),
                (end, AXIS - half + 8),
                (end, AXIS + half - 8),
                (end - 8, AXIS + half),
                (FACE - 20, AXIS + half),
            ),
            parts.EDGE,
            closed=True,
            name="plunger",
        ),
        Lines((((FACE - 60, AXIS), (end + 22, AXIS)),), parts.CENTRE_LINE),
    ]


def _groove(state: TensionerSide, *, solution: bool) -> list[Shape]:
    """The groove stands ``groove_at_mm`` behind the plunger's end; the body hides it before."""
    if not (state.groove_shown or solution):
        if state.asked != "groove":
            return []
        end = max(FACE + 20, _at(state, state.extension_mm) - 14)
        cover = parts.rectangle(
            FACE, AXIS - HALF, end, AXIS + HALF, Style(Ink.FAINT, Ink.PAPER, Weight.THIN)
        )
        middle = (FACE + end) / 2
        return [cover, Label((middle, AXIS + 6), "?", 18, ink=Ink.ACCENT, bold=True)]
    x = _at(state, state.extension_mm - state.groove_at_mm)
    half = HALF * 0.62
    ink = Ink.SOLUTION if solution and not state.groove_shown else Ink.MARK
    style = Style(ink, weight=Weight.THICK)
    line = ((x, AXIS - half), (x, AXIS + half))
    at = (max(x, FACE) + 6, AXIS - half - 6)
    if x < FACE:
        if not solution:
            return []
        return [Label(at, "groove still inside", anchor=Anchor.START, ink=ink, bold=True)]
    return [
        Lines((line,), style, name="groove"),
        Label(at, "groove", anchor=Anchor.START, ink=ink, bold=True, halo=True),
    ]


def _body() -> list[Shape]:
    return [
        parts.rectangle(70, AXIS - HALF - 16, FACE, AXIS + HALF + 16, parts.EDGE, "body"),
        parts.rectangle(56, AXIS - HALF - 30, 84, AXIS + HALF + 30, parts.EDGE),
        Label((126, AXIS + 6), "body", bold=True),
    ]


def _scale(state: TensionerSide) -> list[Shape]:
    y = AXIS + HALF + 30
    last = int(state.longest_mm)
    ticks = tuple(
        ((_at(state, mm), y), (_at(state, mm), y + (12 if mm % 5 == 0 else 6)))
        for mm in range(last + 1)
    )
    every = 5 if state.longest_mm <= 30 else 10
    edge = ((FACE, y), (_at(state, state.longest_mm), y))
    return [
        Lines((edge, *ticks), parts.FINE, name="scale"),
        *(Label((_at(state, mm), y + 30), str(mm)) for mm in range(0, last + 1, every)),
    ]


def _extension(state: TensionerSide, *, solution: bool) -> list[Shape]:
    end, y = _at(state, state.extension_mm), AXIS + HALF + 30
    guide = Lines((((end, AXIS), (end, y)),), Style(Ink.ACCENT, weight=Weight.THIN))
    text, ink = parts.shown(
        f"{parts.plain(state.extension_mm)} mm",
        asked=state.asked == "extension",
        solution=solution,
    )
    top = AXIS - HALF - 34
    shapes: list[Shape] = [
        guide,
        Lines(
            (((FACE, top - 8), (FACE, AXIS - HALF)), ((end, top - 8), (end, AXIS))), parts.DIMENSION
        ),
        *parts.dimension((FACE, top), (end, top), text, ink, name="extension"),
    ]
    if state.extension_new_mm >= 0:
        x = _at(state, state.extension_new_mm)
        shapes += [
            Lines((((x, y - 14), (x, y)),), Style(Ink.COOL)),
            Label((x, y - 18), "new", anchor=Anchor.MIDDLE, ink=Ink.COOL, halo=True),
        ]
    return shapes
