"""Two sprockets and their chain, pin by pin, so that the pins between the marks can be counted.

The pins of the counted strand are drawn solid from the pin at the first mark to the pin at the
second, both included; all others are drawn hollow. Whoever counts must know the convention.
"""

from __future__ import annotations

from math import radians, sin

from quizsvc.figures import parts, strand_rows
from quizsvc.figures.chain_line import Sight, seat_radius
from quizsvc.figures.pair_geometry import PairLayout
from quizsvc.figures.pair_state import (
    Sprocket,
    SprocketPair,
    check,
    check_words,
    counted_places,
    counted_side,
    describe,
    layout_of,
    other_places,
    side_words,
)
from quizsvc.figures.scene import (
    Anchor,
    Ink,
    Label,
    Point,
    Polyline,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

__all__ = [
    "Sprocket",
    "SprocketPair",
    "check",
    "describe",
    "draw",
]

WIDEST = 26.0
TALLEST = 640.0
_SIDE = 66.0  # room for words beside the chain


def draw(state: SprocketPair, *, solution: bool = False) -> Scene:
    """Draw the pair.

    Raises:
        InputError: the chain does not lie on a sprocket at its mark, or too few pins.
    """
    check_words(state)
    layout = layout_of(state)
    sight, bottom = _fitted(state, layout)
    shapes: list[Shape] = [
        *_blade(layout, sight),
        *_sprockets(state, layout, sight),
        *_chain(state, layout, sight),
        *_marks(state, layout, sight, solution=solution),
        *_names(state, layout, sight),
        *_strand_words(state, layout, sight, solution=solution),
    ]
    if solution and sight.scale >= strand_rows.SPACING:
        shapes += _numbers(state, layout, sight)
    if sight.scale < strand_rows.SPACING:
        ends = (state.first.name, state.second.name)
        strip, bottom = strand_rows.enlarged(state.pins, ends, bottom, solution=solution)
        shapes += strip
    words, height = parts.caption(_caption(state), bottom)
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def counted_pins(state: SprocketPair) -> list[Point]:
    """Return the places of the counted strand's pins on the picture, both mark pins included."""
    layout = layout_of(state)
    sight, _ = _fitted(state, layout)
    return [sight.at(place) for place in counted_places(state, layout)]


def _fitted(state: SprocketPair, layout: PairLayout) -> tuple[Sight, float]:
    """Return the sight that fills the picture, and where the drawing ends below."""
    r1, r2 = seat_radius(state.first.teeth), seat_radius(state.second.teeth)
    length, across = layout.centre + r1 + r2, 2 * max(r1, r2)
    if state.arrangement == "above":
        scale = min(WIDEST, TALLEST / length, (parts.WIDTH - 2 * _SIDE - 44) / across)
        top = 60.0
        return (
            Sight(scale, parts.WIDTH / 2, top + scale * (layout.centre + r2)),
            top + scale * length + 50,
        )
    scale = min(WIDEST, (parts.WIDTH - 124) / length)
    top = 64.0
    left = (parts.WIDTH - scale * length) / 2
    middle = top + scale * across / 2
    return Sight(scale, left + scale * r1, middle), middle + scale * across / 2 + 84


def _chain(state: SprocketPair, layout: PairLayout, sight: Sight) -> list[Shape]:
    counted = [sight.at(place) for place in counted_places(state, layout)]
    others = [sight.at(place) for place in other_places(state, layout)]
    if state.counted == "tight":
        others.reverse()
    loop = (*counted, *others)
    radius = min(5.2, sight.scale * 0.27)
    return [
        Polyline(loop, Style(Ink.LINE, weight=Weight.THIN), closed=True, name="chain"),
        parts.pins(others, radius * 0.72, parts.OPEN_PIN, "other pins"),
        parts.pins(counted, radius, parts.SOLID_PIN, "counted pins"),
    ]


def _centres(layout: PairLayout, sight: Sight) -> tuple[Point, Point]:
    first, last = layout.path.wheels[0], layout.path.wheels[-1]
    return sight.at((first.x_mm, first.y_mm)), sight.at((last.x_mm, last.y_mm))


def _sprockets(state: SprocketPair, layout: PairLayout, sight: Sight) -> list[Shape]:
    shapes: list[Shape] = []
    both = zip((state.first, state.second), _centres(layout, sight), strict=True)
    for sprocket, centre in both:
        radius = seat_radius(sprocket.teeth) * sight.scale
        shapes += [
            parts.toothed(
                centre, sprocket.teeth, sight.scale, sprocket.mark_deg, f"sprocket {sprocket.name}"
            ),
            *parts.hub(centre, min(26.0, radius * 0.3)),
        ]
    first, radius = _centres(layout, sight)[0], seat_radius(state.first.teeth) * sight.scale
    sweep = 100 if state.rotation == "clockwise" else -100
    return [*shapes, *parts.turning_arrow(first, radius * 0.52, -sweep / 2, sweep, parts.FINE)]


def _blade(layout: PairLayout, sight: Sight) -> list[Shape]:
    """Draw the tensioner blade as a band behind the chain, a little longer than the contact."""
    if len(layout.path.wheels) == 2:
        return []
    blade, arc = layout.path.wheels[1], layout.path.arcs[1]
    centre = sight.at((blade.x_mm, blade.y_mm))
    sweep = abs(arc.wrap_deg) + 8
    middle = arc.start_deg + (arc.wrap_deg if layout.path.clockwise else -arc.wrap_deg) / 2
    radius = blade.radius_mm * sight.scale
    steps = [middle - sweep / 2 + sweep * step / 12 for step in range(13)]
    outer = [at_clock(centre, radius - 7, deg) for deg in steps]
    inner = [at_clock(centre, radius - 15, deg) for deg in reversed(steps)]
    return [Polyline((*outer, *inner), Style(Ink.LINE, Ink.SHADE), closed=True, name="blade")]


def _marks(state: SprocketPair, layout: PairLayout, sight: Sight, *, solution: bool) -> list[Shape]:
    shapes: list[Shape] = []
    counted = counted_places(state, layout)
    for sprocket, centre, pin in zip(
        (state.first, state.second),
        _centres(layout, sight),
        (counted[0], counted[-1]),
        strict=True,
    ):
        radius = seat_radius(sprocket.teeth) * sight.scale
        length = min(20.0, radius * 0.4)
        tip = radius - sight.scale * 0.36
        last = solution and pin is counted[-1]
        shapes.append(
            parts.mark_pointer(centre, tip, length, sprocket.mark_deg, f"mark {sprocket.name}")
        )
        word = _beside(centre, radius + 13, sprocket.mark_deg)
        shapes.append(word)
        if last:
            shapes.append(_under(word, centre, f"pin {state.pins}"))
    return shapes


def _beside(centre: Point, radius: float, deg: float) -> Label:
    """Set a word outside a circle so that its near edge, not its middle, faces the centre."""
    x, y = at_clock(centre, radius, deg)
    across = sin(radians(deg))
    anchor = Anchor.MIDDLE if abs(across) < 0.3 else Anchor.START if across > 0 else Anchor.END
    up = (y - centre[1]) / radius
    at = (x, y + 6 + 6 * up)
    return Label(at, "mark", anchor=anchor, ink=Ink.MARK, bold=True, name="mark word")


def _under(word: Label, centre: Point, text: str) -> Label:
    """Set the last pin's number beyond the word at its mark."""
    x, y = word.at
    step = parts.LINE_HEIGHT if y > centre[1] else -parts.LINE_HEIGHT
    return parts.on_paper(
        Label((x, y + step), text, anchor=word.anchor, ink=Ink.SOLUTION, bold=True, name="last pin")
    )


def _names(state: SprocketPair, layout: PairLayout, sight: Sight) -> list[Shape]:
    shapes: list[Shape] = []
    for sprocket, centre in zip((state.first, state.second), _centres(layout, sight), strict=True):
        lines = [*sprocket.name.split(" "), f"{sprocket.teeth} teeth"]
        radius = seat_radius(sprocket.teeth) * sight.scale
        x, y, anchor = _name_place(state, sprocket, centre, radius, len(lines))
        shapes += [
            Label((x, y + parts.LINE_HEIGHT * number), line, anchor=anchor, bold=line != lines[-1])
            for number, line in enumerate(lines)
        ]
    return shapes


def _name_place(
    state: SprocketPair, sprocket: Sprocket, centre: Point, radius: float, lines: int
) -> tuple[float, float, Anchor]:
    """Stand the name on the side away from the counted strand, clear of the mark's word."""
    side = -counted_side(state)
    if state.arrangement == "above":
        x = parts.MARGIN if side < 0 else parts.WIDTH - parts.MARGIN
        away = 90 * side
        off = (sprocket.mark_deg - away + 180) % 360 - 180
        outwards = -1 if sprocket is state.second else 1
        shift = 0.0 if abs(off) > 40 else outwards * 40.0
        top = centre[1] - parts.LINE_HEIGHT * (lines - 1) / 2 + 6 + shift
        return x, top, Anchor.START if side < 0 else Anchor.END
    far = centre[1] + side * (radius + 24)
    off = (sprocket.mark_deg - (180 if side > 0 else 0) + 180) % 360 - 180
    if abs(off) < 50:
        far += side * 20
    top = far + 6 if side > 0 else far - parts.LINE_HEIGHT * (lines - 1) + 6
    return centre[0], top, Anchor.MIDDLE


def _strand_words(
    state: SprocketPair, layout: PairLayout, sight: Sight, *, solution: bool
) -> list[Shape]:
    if state.arrangement == "beside":
        return []  # the caption says it: there is no room beside a short strand
    counted = [sight.at(place) for place in counted_places(state, layout)]
    x, y = counted[len(counted) // 2]
    ink = Ink.SOLUTION if solution and not state.strands_named else Ink.LINE
    side = counted_side(state)
    anchor = Anchor.START if side > 0 else Anchor.END
    name = _strand_name(state) if state.strands_named or not solution else f"{state.counted} strand"
    return [
        Label((x + 20.0 * side, y + parts.LINE_HEIGHT * row), line, anchor=anchor, ink=ink)
        for row, line in enumerate(("count", "along", *name.split(" ")))
    ]


def _strand_name(state: SprocketPair) -> str:
    return f"the {state.counted} strand" if state.strands_named else "this strand"


def _numbers(state: SprocketPair, layout: PairLayout, sight: Sight) -> list[Shape]:
    """Number every fifth pin on the inner side of the counted strand."""
    counted = [sight.at(place) for place in counted_places(state, layout)]
    shapes: list[Shape] = []
    for number in range(strand_rows.NUMBER_EVERY, state.pins, strand_rows.NUMBER_EVERY):
        (x0, y0), (x, y), (x1, y1) = counted[number - 1 : number + 2]
        dx, dy = x1 - x0, y1 - y0
        length = (dx * dx + dy * dy) ** 0.5
        inward = -17.0 * counted_side(state) / length
        at = (x - dy * inward, y + dx * inward + 6)
        shapes.append(
            Label(at, str(number), ink=Ink.SOLUTION, bold=True, halo=True, name="pin number")
        )
    return shapes


def _caption(state: SprocketPair) -> str:
    seen = f"Seen from the chain end, turning {state.rotation}; the {state.first.name} drives."
    count = ""
    if state.arrangement == "beside":
        side = side_words(state).removesuffix(" side")
        named = f", the {state.counted} one" if state.strands_named else ""
        count = f"Count along the {side} strand{named}."
    return " ".join(filter(None, (seen, count, state.note)))
