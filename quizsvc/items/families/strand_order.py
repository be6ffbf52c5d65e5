"""Family `strand-order`: strands of a drive by how hard they are pulled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from quizsvc.figures import drive_view
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import listed
from quizsvc.items.picture import pictured
from quizsvc.items.round_drive import round_drive
from quizsvc.sheets.schema import EngineSheet, Rotation

DRIVEN = (
    "intake camshaft",
    "exhaust camshaft",
    "oil pump",
    "balance shaft",
    "injection pump",
    "intermediate shaft",
)
PITCH_MM = 8.0  # 05B, ISO 606
CRANK = "crankshaft"
Order = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Loop:
    """Shafts in the order in which the running chain meets them after the crankshaft."""

    shafts: tuple[str, ...]

    @property
    def strands(self) -> Order:
        """In running direction, the first leaving the crankshaft."""
        round_trip = (CRANK, *self.shafts, CRANK)
        return tuple(f"{one} to {other}" for one, other in pairwise(round_trip))

    @property
    def tightest_first(self) -> Order:
        """What runs towards the driver carries all loads; each wheel before takes its share off."""
        return tuple(reversed(self.strands))


IDEAS: tuple[Idea[Loop], ...] = (
    Idea(
        "driver-pushes",
        lambda loop: loop.strands,
        "A chain cannot push: the strand that leaves the crankshaft is the slackest.",
    ),
    Idea(
        "tight-both-sides-of-driver",
        lambda loop: (loop.strands[-1], loop.strands[0], *loop.strands[-2:0:-1]),
        "The strand that leaves the crankshaft carries no load, though it touches the driver.",
    ),
    Idea(
        "middle-strands-tightest",
        lambda loop: (*loop.strands[-2:0:-1], loop.strands[-1], loop.strands[0]),
        "The strand that runs to the crankshaft pulls all others with it.",
    ),
    Idea(
        "slack-next-to-tight",
        lambda loop: (loop.strands[-1], *loop.strands[1:-1], loop.strands[0]),
        "From wheel to wheel the pull falls against the running direction, not along it.",
    ),
)


@family(
    "strand-order",
    version=1,
    topic="chain",
    title="Strands from tight to slack",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ORDER, Kind.ONE_CHOICE),
    gives=("shafts", "rotation"),
    asks="strands, the tightest first",
    key_follows="The strand running to the driver is tightest; each driven wheel before it takes "
    "its share off.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Apply: three driven shafts. Diagnose: four, and where a tensioner belongs follows."""
    shafts = draw.sample(DRIVEN, 3 if level is Level.APPLY else 4)
    loop = Loop(shafts)
    rotation = sheet.layout.rotation
    view = round_drive(
        shafts,
        (False,) * len(shafts),
        clockwise=rotation is Rotation.CLOCKWISE,
        pitch_mm=PITCH_MM,
    )
    if view is None:
        raise Redraw
    order, choose = loop.tightest_first, kind is Kind.ONE_CHOICE
    return Question(
        prompt=f"Seen from the chain end the crankshaft turns {rotation} and drives one chain. "
        f"From the crankshaft the running chain comes to {listed(shafts, 'then')}, then back. "
        f"{_asks(level, choose=choose)}",
        givens={"shafts": Given(shafts), "rotation": Given(str(rotation))},
        asked=Asked("strands", ""),
        steps=_steps(loop),
        right=((order, _words(order)),) if choose else (),
        sequence=() if choose else order,
        before=() if choose else _rules(order),
        wrong=wrong_answers(IDEAS, loop, _words),
        right_because="Against the running direction, from the strand that the crankshaft pulls.",
        **pictured(
            drive_view,
            view,
            replace(view, note=f"Tightest: {order[0]}. Slackest: {order[-1]}."),
        ),
    )


def _asks(level: Level, *, choose: bool) -> str:
    why = "A tensioner is to be placed on the slackest strand. " if level is Level.DIAGNOSE else ""
    if choose:
        return f"{why}Which lists its strands from the tightest to the slackest?"
    return f"{why}Put its strands in order, the tightest first."


def _words(order: object) -> str:
    return "; ".join(str(strand) for strand in order) if isinstance(order, tuple) else ""


def _rules(order: Order) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (one, other, f"“{one}” pulls all that “{other}” pulls, and one wheel more.")
        for one, other in pairwise(order)
    )


def _steps(loop: Loop) -> tuple[Step, ...]:
    first, last = loop.tightest_first[0], loop.tightest_first[-1]
    return (
        Step(f"The crankshaft pulls in “{first}”: it carries all {len(loop.shafts)} shafts."),
        Step("Each wheel passed against the running direction takes its share off the pull."),
        Step(f"“{last}” carries none of them: it is the slack strand, for the tensioner."),
    )
