"""The valve events of one cylinder around the crank circle, dead centres above and below."""

from __future__ import annotations

from quizsvc.figures import parts
from quizsvc.figures.event_state import (
    EVENTS,
    SPANS,
    EventCircle,
    check,
    clock_deg,
    degrees_text,
    describe,
    each_event,
    letters,
    side_of,
    span_deg,
)
from quizsvc.figures.lettering import text_width
from quizsvc.figures.scene import (
    Anchor,
    Arc,
    Area,
    Circle,
    Dash,
    Ink,
    Label,
    Lines,
    Point,
    Scene,
    Shape,
    Style,
    Weight,
    at_clock,
)

__all__ = [
    "EVENTS",
    "SPANS",
    "EventCircle",
    "clock_deg",
    "describe",
    "draw",
    "letters",
    "places",
    "span_deg",
]

CENTRE: Point = (parts.WIDTH / 2, 206.0)
CIRCLE = 128.0
INTAKE, EXHAUST = 104.0, 84.0  # radii of the open bands


def places(state: EventCircle) -> tuple[Area, ...]:
    """Return each event's tick as a place to point at, named as the figure names it."""
    named = letters(state) if state.lettered else {name: name for name in EVENTS}
    return tuple(
        Area(named[name], at_clock(CENTRE, CIRCLE, clock_deg(state, name)), 20.0)
        for name in sorted(EVENTS, key=named.__getitem__)
    )


def draw(state: EventCircle, *, solution: bool = False) -> Scene:
    check(state)
    shapes: list[Shape] = [*_ground(lettered=state.lettered), *_bands(state), *_ticks(state)]
    shapes += _labels(state, solution=solution)
    shapes += _span(state, solution=solution)
    words, height = parts.caption(
        state.note
        or "Crank degrees, clockwise. Solid band: intake open. Dashed band: exhaust open.",
        420,
    )
    return Scene(parts.WIDTH, height, (*shapes, *words), describe(state))


def _ground(*, lettered: bool) -> list[Shape]:
    x, y = CENTRE
    reach = CIRCLE + 16
    beyond = 20 if lettered else 0  # letters stand around the circle
    cross = (((x, y - reach), (x, y + reach)), ((x - reach, y), (x + reach, y)))
    return [
        Circle(CENTRE, CIRCLE, Style(Ink.LINE, Ink.METAL, Weight.THIN)),
        Lines(cross, parts.CENTRE_LINE),
        Circle(CENTRE, 3, parts.SOLID_PIN),
        *parts.turning_arrow(CENTRE, CIRCLE + 30, 72, 36),
        Label((x, y - reach - 6 - beyond), "TDC", bold=True),
        Label((x, y + reach + 18 + beyond), "BDC", bold=True),
    ]


def _bands(state: EventCircle) -> list[Shape]:
    intake = 180 + state.ivo_btdc + state.ivc_abdc
    exhaust = 180 + state.evo_bbdc + state.evc_atdc
    return [
        Arc(
            CENTRE,
            INTAKE,
            -state.ivo_btdc,
            intake,
            Style(Ink.COOL, weight=Weight.THICK),
            name="intake open",
        ),
        Arc(
            CENTRE,
            EXHAUST,
            180 - state.evo_bbdc,
            exhaust,
            Style(Ink.WARM, weight=Weight.THICK, dash=Dash.DASHED),
            name="exhaust open",
        ),
    ]


def _ticks(state: EventCircle) -> list[Shape]:
    shapes: list[Shape] = []
    for name, _ in each_event(state):
        deg = clock_deg(state, name)
        inner = INTAKE if name[0] == "I" else EXHAUST
        ink = Ink.COOL if name[0] == "I" else Ink.WARM
        stroke = (at_clock(CENTRE, inner - 7, deg), at_clock(CENTRE, CIRCLE + 8, deg))
        shapes.append(Lines((stroke,), Style(ink), name=f"event {name}"))
    return shapes


_LEFT, _RIGHT = parts.MARGIN, parts.WIDTH - parts.MARGIN
_HIGH, _LOW = 38.0, 366.0


def _corners(state: EventCircle) -> dict[str, tuple[float, float]]:
    """Give each event the corner nearest to it, so that no leaders cross."""
    late_intake = clock_deg(state, "IVO") > clock_deg(state, "EVC")
    late_exhaust = clock_deg(state, "EVO") > clock_deg(state, "IVC")
    return {
        "IVO": (_RIGHT if late_intake else _LEFT, _HIGH),
        "EVC": (_LEFT if late_intake else _RIGHT, _HIGH),
        "IVC": (_RIGHT if late_exhaust else _LEFT, _LOW),
        "EVO": (_LEFT if late_exhaust else _RIGHT, _LOW),
    }


def _labels(state: EventCircle, *, solution: bool) -> list[Shape]:
    if state.lettered:
        return _plates(state, solution=solution)
    corners = _corners(state)
    shapes: list[Shape] = []
    for name, value in each_event(state):
        shown, ink = f"{degrees_text(value)}° {side_of(value, name)}", _ink(name)
        if name in state.hidden:
            ink = Ink.SOLUTION if solution else Ink.ACCENT
            shown = shown if solution else "?"
        shapes += _label(name, shown, ink, corners[name], clock_deg(state, name))
    return shapes


def _plates(state: EventCircle, *, solution: bool) -> list[Shape]:
    """Write letters beside the ticks; the solution adds which event each is, in its corner."""
    shapes: list[Shape] = []
    corners = _corners(state)
    for name, letter in letters(state).items():
        deg = clock_deg(state, name)
        # Two events close to one dead centre stand apart by their corners' sides.
        lean = 5 if corners[name][0] == _RIGHT else -5
        x, y = at_clock(CENTRE, CIRCLE + 22, deg + lean)
        shapes.append(Label((x, y + 6), letter, ink=Ink.ACCENT, bold=True, halo=True))
        if solution:
            corner = corners[name]
            anchor = Anchor.START if corner[0] == _LEFT else Anchor.END
            text = f"{letter} {name}"
            shapes.append(Label(corner, text, anchor=anchor, ink=Ink.SOLUTION, bold=True))
    return shapes


def _ink(name: str) -> Ink:
    return Ink.COOL if name[0] == "I" else Ink.WARM


def _label(name: str, shown: str, ink: Ink, corner: Point, deg: float) -> list[Shape]:
    x, y = corner
    left = x == _LEFT
    anchor = Anchor.START if left else Anchor.END
    low = y + parts.LINE_HEIGHT
    word = text_width(shown, parts.TEXT, bold=True) + 6
    if y == _HIGH:
        near = (x + word if left else x - word, low - 6)
    else:
        word = text_width(name, parts.TEXT, bold=True) + 6
        near = (x + word if left else x - word, y - 6)
    return [
        Lines(((near, at_clock(CENTRE, CIRCLE + 8, deg)),), parts.DIMENSION),
        Label((x, y), name, anchor=anchor, bold=True),
        Label((x, low), shown, anchor=anchor, ink=ink, bold=True, name=f"value {name}"),
    ]


def _span(state: EventCircle, *, solution: bool) -> list[Shape]:
    if not state.span:
        return []
    ink = Ink.SOLUTION if solution else Ink.ACCENT
    start, sweep = span_deg(state)
    x, y = CENTRE
    first, _, rest = state.span.partition(" ")
    words = [first, rest] if rest else [first]
    words.append(f"{_signed(sweep)}°" if solution else "?")
    shapes: list[Shape] = [
        Arc(CENTRE, 64, start, sweep, Style(ink), name="span"),
        Lines(
            tuple(
                (at_clock(CENTRE, 58, deg), at_clock(CENTRE, 70, deg))
                for deg in (start, start + sweep)
            ),
            Style(ink),
        ),
    ]
    base = y - parts.LINE_HEIGHT * (len(words) - 1) / 2 + 6
    for number, word in enumerate(words):
        at = (x, base + parts.LINE_HEIGHT * number)
        last = number == len(words) - 1
        shapes.append(
            Label(at, word, ink=ink, bold=last, halo=True, name="span number" if last else "")
        )
    return shapes


def _signed(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0").replace("-", "−")
