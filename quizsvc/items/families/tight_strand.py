"""Family `tight-strand`: which strand of a chain pulls."""

from __future__ import annotations

from dataclasses import dataclass, replace

from quizsvc.figures import drive_view
from quizsvc.figures.drive_state import DriveView
from quizsvc.figures.scene import Area
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import CHAIN_WORK
from quizsvc.items.choosing import Draw
from quizsvc.items.family import family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Redraw, Wrong
from quizsvc.items.picture import pictured
from quizsvc.items.round_drive import round_drive
from quizsvc.sheets.schema import EngineSheet

PITCH_MM = 8.0  # 05B, ISO 606
NAMES = ("camshaft", "intake camshaft", "exhaust camshaft", "intermediate shaft")
WAYS = ("clockwise", "anticlockwise")
ENDS = ("chain end", "flywheel end")
POINT_RADIUS = 26.0


@dataclass(frozen=True, slots=True)
class Pull:
    """A crankshaft that drives one camshaft above it, and the strand asked for."""

    stated: str  # rotation as stated
    seen_from: str  # the end it is stated from
    wanted: str  # "tight" or "slack"

    @property
    def rotation(self) -> str:
        """Seen from the chain end."""
        return self.stated if self.seen_from == ENDS[0] else _other(WAYS, self.stated)

    @property
    def tight_side(self) -> str:
        """Seen from the chain end: clockwise, the right-hand strand runs down to the crank."""
        return "right" if self.rotation == WAYS[0] else "left"

    @property
    def side(self) -> str:
        return self.tight_side if self.wanted == "tight" else _other(SIDES, self.tight_side)


SIDES = ("left", "right")
IDEAS = (
    "driver-pushes",
    "tensioner-on-tight-strand",
    "both-strands-alike",
    "seen-from-the-other-end",
)


def _other(pair: tuple[str, str], one: str) -> str:
    return pair[1] if one == pair[0] else pair[0]


@family(
    "tight-strand",
    version=1,
    topic="chain",
    title="Tight and slack strand",
    levels=(Level.RECALL, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE, Kind.POINT),
    gives=("rotation", "seen_from", "wanted"),
    asks="strand",
    key_follows="The strand that runs towards the driving sprocket is tight, the one that leaves "
    "it is slack.",
    misconceptions=IDEAS,
    caution=CHAIN_WORK,
    drive="chain",
)
def ask(_sheet: EngineSheet, draw: Draw, level: Level, kind: Kind) -> Question:
    """Recall: rotation seen from the chain end. Diagnose: rotation stated from the other end."""
    seen_from = ENDS[0] if level is Level.RECALL else ENDS[1]
    pull = Pull(draw.choice(WAYS), seen_from, draw.choice(("tight", "slack")))
    driven = draw.choice(NAMES)
    view = _pair(pull.rotation, driven)
    point = kind is Kind.POINT
    right = _strand(pull.side)
    wrong = _other_strand(pull) if point else _reasons(pull)
    return Question(
        prompt=f"The crankshaft sprocket, below, drives the {driven} sprocket above it. Seen "
        f"from the {seen_from} the crankshaft turns {pull.stated}. {_asks(pull, point=point)}",
        givens={
            "rotation": Given(pull.stated),
            "seen_from": Given(seen_from),
            "wanted": Given(pull.wanted),
        },
        asked=Asked("strand", ""),
        steps=_steps(pull),
        right=((right, right if point else f"{right}: {_because(pull)}"),),
        right_because="A chain only pulls: towards the driver it is tight.",
        wrong=wrong,
        places=_places(view) if point else (),
        **pictured(drive_view, view, replace(view, note=f"Tight: {_strand(pull.tight_side)}.")),
    )


def _asks(pull: Pull, *, point: bool) -> str:
    if point:
        return f"Point at the {pull.wanted} strand. The picture is seen from the chain end."
    return f"Which strand is {pull.wanted}, seen from the chain end as in the picture?"


def _strand(side: str) -> str:
    return f"the {side}-hand strand"


def _because(pull: Pull) -> str:
    if pull.wanted == "tight":
        return "it runs towards the crankshaft sprocket"
    return "it leaves the crankshaft sprocket"


def _other_strand(pull: Pull) -> tuple[Wrong, ...]:
    """For pointing: the other strand, where the wrong ideas lead."""
    other = _strand(_other(SIDES, pull.side))
    idea = IDEAS[0] if pull.seen_from == ENDS[0] else IDEAS[3]
    return (Wrong(idea, other, _WHY[idea]),)


_WHY = {
    "driver-pushes": "A chain cannot push: the strand that leaves the driver is slack.",
    "tensioner-on-tight-strand": "The tensioner takes up slack, so it sits on the slack strand.",
    "both-strands-alike": "Only the strand that pulls carries the load.",
    "seen-from-the-other-end": "From the other end the same rotation looks the other way round.",
}


def _reasons(pull: Pull) -> tuple[Wrong, ...]:
    """What each wrong idea makes of it, with its reason."""
    tight = pull.wanted == "tight"
    other = _strand(_other(SIDES, pull.side))
    pushed = "the crankshaft pushes it up" if tight else "it runs down to the crankshaft"
    pressed = (
        "the tensioner presses on it and makes it tight"
        if tight
        else "the tensioner would sit on the other one"
    )
    viewed = f"the crankshaft turns {_other(WAYS, pull.rotation)} seen from here"
    said = {
        "driver-pushes": f"{other}: {pushed}",
        "tensioner-on-tight-strand": f"{other}: {pressed}",
        "both-strands-alike": f"neither: the tensioner keeps both of them {pull.wanted}",
        "seen-from-the-other-end": f"{other}: {viewed}",
    }
    return tuple(Wrong(idea, text, _WHY[idea]) for idea, text in said.items())


def _pair(rotation: str, driven: str) -> DriveView:
    view = round_drive((driven,), (False,), clockwise=rotation == WAYS[0], pitch_mm=PITCH_MM)
    if view is None:
        raise Redraw
    return view


def _places(view: DriveView) -> tuple[Area, ...]:
    """The middle of either strand on the picture, between the two wheels' left or right edges."""
    below, above = drive_view.places(view)
    (x, y), (u, v) = below.centre, above.centre
    out = (below.radius + above.radius) / 2
    middle = ((x + u) / 2, (y + v) / 2)
    return tuple(
        Area(_strand(side), (middle[0] + way * out, middle[1]), POINT_RADIUS)
        for side, way in (("left", -1), ("right", 1))
    )


def _steps(pull: Pull) -> tuple[Step, ...]:
    down, up = pull.tight_side, _other(SIDES, pull.tight_side)
    turned = (
        Step(
            f"{pull.stated.capitalize()} from the flywheel end is {pull.rotation} from the chain "
            "end."
        ),
    )
    return (
        *(turned if pull.seen_from == ENDS[1] else ()),
        Step("Of the 2 strands only 1 pulls: a chain cannot push."),
        Step(f"Turning {pull.rotation}, the crankshaft sprocket moves down on its {down} side."),
        Step(
            f"There the chain runs towards it and is pulled: the {down}-hand strand is tight, the "
            f"{up}-hand one slack."
        ),
    )
