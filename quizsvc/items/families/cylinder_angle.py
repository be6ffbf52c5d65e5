"""Family `cylinder-angle`: how far past its own last TDC a cylinder stands."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from quizsvc.figures import cylinder_phases
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.cylinder_figure import cylinders_at
from quizsvc.items.engine import Engine, an_engine
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import answer_in, claim, degrees
from quizsvc.sheets.schema import EngineSheet
from quizsvc.timing.cycle import degrees_after_firing_tdc, degrees_after_last_tdc


@dataclass(frozen=True, slots=True)
class At:
    """A cylinder of an engine at a crank angle."""

    engine: Engine
    cylinder: int
    crank_deg: float

    @property
    def firing_deg(self) -> float:
        return self.engine.firing_deg[self.cylinder]

    @property
    def place(self) -> int:
        return self.engine.order.index(self.cylinder) - self.engine.order.index(1)


IDEAS: tuple[Idea[At], ...] = (
    Idea(
        "only-firing-tdc-counts",
        lambda at: degrees_after_firing_tdc(at.firing_deg, at.crank_deg),
        "That counts from its firing TDC; it has been at TDC once more since.",
    ),
    Idea(
        "cylinder-one-for-all",
        lambda at: at.crank_deg % 360,
        "That is how far cylinder 1 is past TDC.",
    ),
    Idea(
        "order-read-backwards",
        lambda at: (at.crank_deg + at.firing_deg) % 360,
        "That adds the firing angle; a cylinder that fires later is behind, so take it off.",
    ),
    Idea(
        "row-for-order",
        lambda at: (at.crank_deg - sum(at.engine.intervals_deg[: at.cylinder - 1])) % 360,
        "That goes by the cylinder's number instead of its place in the firing order.",
    ),
    Idea(
        "cycle-in-one-turn",
        lambda at: (at.crank_deg - at.place * 360 / len(at.engine.order)) % 360,
        "That spaces the firings over one turn; the cycle is two.",
    ),
    Idea(
        "before-for-after",
        lambda at: 360 - degrees_after_last_tdc(at.firing_deg, at.crank_deg),
        "That is what is left to the next TDC.",
    ),
    Idea(
        "bottom-for-top",
        lambda at: degrees_after_last_tdc(at.firing_deg + 180, at.crank_deg),
        "That counts from bottom dead centre.",
    ),
)


@family(
    "cylinder-angle",
    version=1,
    topic="cycle",
    title="A cylinder's own angle",
    levels=(Level.RECALL, Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.NUMBER, Kind.ONE_CHOICE),
    gives=("firing_order", "intervals", "cylinder", "crank_deg"),
    asks="atdc_deg",
    key_follows="Crank angle less the cylinder's firing angle, less whole turns.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    engine = an_engine(sheet, draw, level)
    at = _drawn(engine, draw, level)
    value = degrees_after_last_tdc(at.firing_deg, at.crank_deg)
    asked = Asked("atdc_deg", "°", engine.decimals)
    wrong = wrong_answers(IDEAS, at)
    steps = _steps(at, value)
    story = ""
    keep = ""
    if level is Level.DIAGNOSE:
        said = claim(draw, wrong, value, asked)
        story = f"The head of cylinder {at.cylinder} is to be checked. {said.sentence} "
        keep = said.keep
        steps += (said.step,)
    picture = cylinders_at(sheet, engine, at.crank_deg)
    return Question(
        prompt=(
            f"{engine.begins} The crankshaft stands {degrees(at.crank_deg)} after firing TDC of "
            f"cylinder 1, turned in its running direction. {story}How far is cylinder "
            f"{at.cylinder} past its own last TDC, be it firing TDC or the other one (0 to 360)? "
            f"{answer_in('crank degrees', engine.decimals)}"
        ),
        givens={
            **engine.givens(),
            "cylinder": Given(at.cylinder),
            "crank_deg": Given(at.crank_deg, "°"),
        },
        asked=asked,
        steps=steps,
        value=value,
        wrong=wrong,
        keep=keep,
        right_because=f"{degrees(at.crank_deg)} less its firing angle {degrees(at.firing_deg)}, "
        "less whole turns.",
        figure=partial(cylinder_phases.draw, picture.state),
        solution_figure=partial(cylinder_phases.draw, picture.state, solution=True),
        figure_alt=picture.alt,
        reference="engine texts: 720° for all cylinders in firing order",
    )


def _drawn(engine: Engine, draw: Draw, level: Level) -> At:
    others = [cylinder for cylinder in engine.order if cylinder != 1]
    if level is Level.RECALL:  # the one that fires next: a single interval to take off
        others = [engine.order[(engine.order.index(1) + 1) % len(engine.order)]]
    at = At(engine, draw.choice(others), float(5 * draw.integer(1, 143)))
    past = degrees_after_last_tdc(at.firing_deg, at.crank_deg)
    if past % 180 < 5 or past % 180 > 175:
        raise Redraw
    return at


def _steps(at: At, value: float) -> tuple[Step, ...]:
    since = at.crank_deg - at.firing_deg
    turns = round((value - since) / 360)
    steps = [
        Step(
            f"Along the firing order {at.engine.order_text}, cylinder {at.cylinder} fires "
            f"{degrees(at.firing_deg)} after cylinder 1.",
            at.firing_deg,
            "°",
        ),
        Step(
            f"So it is that much behind: {degrees(at.crank_deg)} − {degrees(at.firing_deg)} = "
            f"{degrees(since)}.",
            since,
            "°",
        ),
    ]
    if turns:
        sign = "+" if turns > 0 else "−"
        steps.append(
            Step(
                f"A piston is at TDC every 360°: {degrees(since)} {sign} {abs(turns) * 360}° = "
                f"{degrees(value)}.",
                value,
                "°",
            )
        )
    return tuple(steps)
