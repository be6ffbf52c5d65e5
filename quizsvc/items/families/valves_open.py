"""Family `valves-open`: which valves stand open at a crank angle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.figures.scene import Scene
from quizsvc.items.assemble import Question
from quizsvc.items.cam_card import CARD_GIVES, cam_teeth, card_givens, card_words, usual_card
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at, phases_at
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, Wrong, wrong_answers
from quizsvc.items.phrases import counted, degrees, listed
from quizsvc.sheets.drive_words import words_of_sheet
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import Stroke, degrees_after_firing_tdc, stroke_at
from quizsvc.timing.marks import crank_degrees_per_tooth
from quizsvc.timing.valves import ValveEvents, ValveKind, open_valves

CLEAR_DEG = 4  # an event this near would ask about the edge, not the state
MOST_RIGHT = 4
MOST_WRONG = 4
Valve = tuple[int, ValveKind]


@dataclass(frozen=True, slots=True)
class Standing:
    """An engine at a crank angle, its card, and how far all its camshafts have slipped."""

    engine: Engine
    card: ValveEvents
    true_card: ValveEvents  # as the slipped camshafts have it
    crank_deg: float
    late_deg: float = 0.0

    @property
    def opened(self) -> tuple[Valve, ...]:
        return open_valves(self.true_card, self.engine.firing_deg, self.crank_deg)

    def own_deg(self, cylinder: int) -> float:
        return degrees_after_firing_tdc(self.engine.firing_deg[cylinder], self.crank_deg)

    def is_clear(self, valve: Valve) -> bool:
        """Whether none of the valve's events is near, be it in time or slipped."""
        cylinder, kind = valve
        own = (self.crank_deg - self.engine.firing_deg[cylinder]) % 720
        ends = [end(kind) for card in (self.card, self.true_card) for end in
                (card.open_deg, card.close_deg)]  # fmt: skip
        return all(CLEAR_DEG <= (own - end) % 720 <= 720 - CLEAR_DEG for end in ends)


def _number_order(s: Standing) -> tuple[str, ...]:
    turned = s.engine.intervals_deg
    firing = {c: sum(turned[: c - 1]) for c in s.engine.firing_deg}
    return _names(open_valves(s.true_card, firing, s.crank_deg))


def _own_stroke_only(s: Standing) -> tuple[str, ...]:
    strokes = {c: stroke_at(0, s.own_deg(c)) for c in sorted(s.engine.firing_deg)}
    kinds: dict[Stroke, ValveKind] = {Stroke.INTAKE: "intake", Stroke.EXHAUST: "exhaust"}
    return _names(tuple((c, kinds[s]) for c, s in strokes.items() if s in kinds))


IDEAS: tuple[Idea[Standing], ...] = (
    Idea(
        "firing-tdc-for-exhaust-tdc",
        lambda s: _names(open_valves(s.true_card, s.engine.firing_deg, s.crank_deg + 360)),
        "This is one turn off: it takes firing TDC for exhaust TDC.",
    ),
    Idea(
        "cylinders-fire-in-number-order",
        _number_order,
        "This lets the cylinders follow one another by number, not in firing order.",
    ),
    Idea(
        "cycle-counted-backwards",
        lambda s: _names(
            open_valves(
                s.true_card, {c: -deg for c, deg in s.engine.firing_deg.items()}, s.crank_deg
            )
        ),
        "This adds the firing angle; a cylinder that fires later is behind by it.",
    ),
    Idea(
        "valve-open-in-own-stroke-only",
        _own_stroke_only,
        "This opens each valve in its own stroke only; they open before it and close after it.",
    ),
    Idea(
        "slip-not-applied",
        lambda s: (
            _names(open_valves(s.card, s.engine.firing_deg, s.crank_deg)) if s.late_deg else None
        ),
        "This is how the valves would stand with the camshafts in time.",
    ),
    Idea(
        "slip-wrong-way",
        lambda s: (
            _names(open_valves(s.card.advanced(s.late_deg), s.engine.firing_deg, s.crank_deg))
            if s.late_deg
            else None
        ),
        "This moves the events the wrong way: retarded is later, advanced is earlier.",
    ),
)


@family(
    "valves-open",
    version=1,
    topic="valves",
    title="Which valves are open",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.SEVERAL_CHOICES, Kind.ONE_CHOICE),
    gives=(*CARD_GIVES, "firing_order", "intervals", "crank_deg", "teeth_off", "cam_teeth"),
    asks="valves",
    key_follows="Each cylinder's own angle in the cycle, held against the card.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: camshafts in time. Diagnose: all of them off by teeth."""
    engine = an_engine(sheet, draw, level)
    card, crank = usual_card(sheet, draw), float(5 * draw.integer(0, 143))
    teeth, off, late = cam_teeth(sheet, draw), 0, 0.0
    if level is Level.DIAGNOSE:
        off = draw.choice((-2, -1, 1, 2))
        late = off * crank_degrees_per_tooth(teeth)
    state = Standing(engine, card, card.advanced(-late) if late else card, crank, late)
    if not state.opened:
        raise Redraw
    seen, wheels = cylinders_at(sheet, engine, crank), words_of_sheet(sheet).wheels
    right, wrong = _whole(state) if kind is Kind.ONE_CHOICE else _each(state, draw)
    which = "Which valves are open?" if kind is Kind.ONE_CHOICE else "Which of these are open?"
    return Question(
        prompt=f"{engine.begins} {card_words(card)} {_slip_words(off, teeth, wheels)}The "
        f"crankshaft stands {degrees(crank)} after firing TDC of cylinder 1, turned in its running "
        f"direction. {which}",
        givens={
            **card_givens(card),
            **engine.givens(),
            "crank_deg": Given(crank, "°"),
            **_slip_givens(off, teeth),
        },
        asked=Asked("valves", ""),
        steps=_steps(state),
        right=right,
        wrong=wrong,
        right_because="Its cylinder's own angle lies between the valve's opening and closing.",
        figure=partial(cylinder_phases.draw, seen.state),
        solution_figure=partial(_with_strokes, sheet, engine, crank),
        figure_alt=seen.alt,
    )


def _with_strokes(sheet: EngineSheet, engine: Engine, crank_deg: float) -> Scene:
    """Draw the cylinders with their strokes named, which tells most of the answer."""
    return cylinder_phases.draw(phases_at(sheet, engine, crank_deg, shown=True), solution=True)


def _name(valve: Valve) -> str:
    return f"cylinder {valve[0]} {valve[1]}"


def _names(valves: tuple[Valve, ...]) -> tuple[str, ...]:
    return tuple(_name(valve) for valve in valves)


def _whole(state: Standing) -> tuple[tuple[tuple[tuple[str, ...], str], ...], tuple[Wrong, ...]]:
    """One choice: each option names all open valves."""
    listed_valves = [(c, k) for c in state.engine.firing_deg for k in ("intake", "exhaust")]
    if not all(state.is_clear(valve) for valve in listed_valves):  # type: ignore[arg-type]
        raise Redraw
    right = _names(state.opened)
    return ((right, _all_words(right)),), wrong_answers(IDEAS, state, _all_words)


def _all_words(names: object) -> str:
    if not isinstance(names, tuple) or not names:
        return "none"
    by_cylinder: dict[str, list[str]] = {}
    for name in names:
        _, cylinder, valve = name.split()
        by_cylinder.setdefault(valve, []).append(cylinder)
    return "; ".join(f"{valve} of {listed(by_cylinder[valve])}" for valve in sorted(by_cylinder))


def _each(state: Standing, draw: Draw) -> tuple[tuple[tuple[str, str], ...], tuple[Wrong, ...]]:
    """Several choices: single valves, the wrong ones such as some idea takes for open."""
    opened = set(_names(state.opened))
    right = draw.sample(sorted(opened), MOST_RIGHT)
    wrong: dict[str, Wrong] = {}
    for idea in draw.shuffled(IDEAS):
        said = idea.answer(state)
        false = [str(n) for n in said if n not in opened] if isinstance(said, tuple) else []
        fresh = [name for name in draw.shuffled(false) if name not in wrong]
        if fresh and len(wrong) < MOST_WRONG:
            wrong[fresh[0]] = Wrong(idea.misconception, fresh[0], _shut(state, fresh[0]))
    if not wrong or not all(state.is_clear(_valve(name)) for name in (*right, *wrong)):
        raise Redraw
    return tuple((name, name) for name in right), tuple(wrong.values())


def _valve(name: str) -> Valve:
    _, cylinder, kind = name.split()
    return int(cylinder), "intake" if kind == "intake" else "exhaust"


def _shut(state: Standing, name: str) -> str:
    cylinder, kind = _valve(name)
    return (
        f"Cylinder {cylinder} stands {degrees(state.own_deg(cylinder))} after its firing TDC; its "
        f"{kind} valve is open from {_span_words(state, kind)}."
    )


def _slip_words(off: int, teeth: int, wheels: str) -> str:
    if not off:
        return ""
    way = "retarded" if off > 0 else "advanced"
    return (
        f"All camshafts are {way} by {counted(abs(off), 'tooth', 'teeth')} of their {wheels} "
        f"with {teeth} teeth. "
    )


def _slip_givens(off: int, teeth: int) -> dict[str, Given]:
    if not off:
        return {}
    return {
        "teeth_off": Given(abs(off), "teeth"),
        "direction": Given("retarded" if off > 0 else "advanced"),
        "cam_teeth": Given(teeth, "teeth"),
    }


def _span_words(state: Standing, kind: ValveKind) -> str:
    card = state.true_card
    opens, closes = round(card.open_deg(kind), 1), round(card.close_deg(kind), 1)
    return f"{degrees(opens)} to {degrees(closes)}"


def _steps(state: Standing) -> tuple[Step, ...]:
    slip = round(abs(state.late_deg), 1)
    when = "later" if state.late_deg > 0 else "earlier"
    slipped = Step(f"The slip moves all events {degrees(slip)} {when}.", slip, "°")
    own = ", ".join(f"{c}: {degrees(state.own_deg(c))}" for c in state.engine.order)
    return (
        *((slipped,) if slip else ()),
        Step(
            "Each cylinder's own angle is the crank angle less its firing angle (in firing "
            f"order): {own}."
        ),
        Step(
            "From its own firing TDC an exhaust valve is open from "
            f"{_span_words(state, 'exhaust')}, an intake valve from "
            f"{_span_words(state, 'intake')}."
        ),
        Step(f"So these are open: {_all_words(_names(state.opened))}."),
    )
