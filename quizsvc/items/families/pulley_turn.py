"""Family `pulley-turn`: which pulleys turn against the crankshaft."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from quizsvc.figures import drive_view
from quizsvc.items.assemble import Question
from quizsvc.items.cautions import BELTS_TURN
from quizsvc.items.choosing import Draw
from quizsvc.items.family import NotForThisSheet, family
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.items.phrases import listed
from quizsvc.items.picture import pictured
from quizsvc.items.round_drive import round_drive
from quizsvc.sheets.schema import EngineSheet, Rotation

_SIDE = {True: "on the belt's back", False: "inside"}
DRIVEN = (
    "alternator",
    "coolant pump",
    "steering pump",
    "air conditioning",
    "idler",
    "tensioner",
)


@dataclass(frozen=True, slots=True)
class Round:
    """Driven pulleys in the order in which the belt meets them, and which touch its back."""

    names: tuple[str, ...]
    back: tuple[bool, ...]
    rotation: Rotation

    @property
    def against(self) -> tuple[str, ...]:
        return self._where(self.back)

    def _where(self, flags: tuple[bool, ...]) -> tuple[str, ...]:
        return tuple(name for name, flag in zip(self.names, flags, strict=True) if flag)

    def every_second(self) -> tuple[str, ...]:
        return self._where(tuple(i % 2 == 0 for i in range(len(self.names))))

    def inside(self) -> tuple[str, ...]:
        return self._where(tuple(not flag for flag in self.back))

    def up_to_first_back(self) -> tuple[str, ...]:
        """Everything after the first back-side pulley, as if it turned the rest round too."""
        first = self.back.index(True)
        return self._where(tuple(i >= first for i in range(len(self.names))))


IDEAS: tuple[Idea[Round], ...] = (
    Idea(
        "back-side-turns-alike",
        lambda r: (),  # noqa: ARG005 - the idea looks at no pulley
        "A pulley on the back of the belt turns the other way.",
    ),
    Idea(
        "each-pulley-reverses",
        lambda r: r.every_second(),
        "Gears reverse from one to the next; pulleys inside a belt all turn alike.",
    ),
    Idea(
        "belt-sides-swapped",
        lambda r: r.inside(),
        "Inside the belt a pulley turns like the crankshaft's, which is inside as well.",
    ),
    Idea(
        "reversal-carried-on",
        lambda r: r.up_to_first_back(),
        "A pulley on the back turns only itself round; the belt runs on as before.",
    ),
    Idea(
        "belt-turns-all-against",
        lambda r: r.names,
        "The belt turns what it drives from inside the same way.",
    ),
)


@family(
    "pulley-turn",
    version=1,
    topic="accessory",
    title="Which way pulleys turn",
    levels=(Level.APPLY, Level.DIAGNOSE),
    kinds=(Kind.ONE_CHOICE,),
    gives=("rotation", "pulleys", "back"),
    asks="pulleys that turn against the crankshaft",
    key_follows="Inside the belt like the crankshaft, on its back the other way.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=BELTS_TURN,
)
def ask(sheet: EngineSheet, draw: Draw, level: Level, _kind: Kind) -> Question:
    """Apply: seen from the chain end. Diagnose: seen from the other end."""
    if not sheet.pulleys:
        raise NotForThisSheet("the sheet states no pulleys.", field="sheet", value=sheet.id)
    count = draw.integer(4, 5)
    back = tuple(draw.chance(0.4) for _ in range(count))
    if not any(back) or all(back):
        raise Redraw
    if any(one and other for one, other in pairwise(back)):
        raise Redraw  # a belt does not bend twice the same way between two inside pulleys
    state = Round(draw.sample(DRIVEN, count), back, sheet.layout.rotation)
    view = round_drive(state.names, back, clockwise=sheet.layout.rotation is Rotation.CLOCKWISE)
    if view is None:
        raise Redraw
    flipped = level is Level.DIAGNOSE
    way, other = _ways(state.rotation, flipped=flipped)
    end = "flywheel end" if flipped else "belt end"
    right = state.against
    return Question(
        prompt=f"Seen from the belt end the crankshaft turns {state.rotation}. From its pulley, "
        f"inside the belt, the belt runs in turn over {_route(state)} and back. Which of these "
        f"turn {other} seen from the {end}?",
        givens={
            "rotation": Given(str(state.rotation)),
            "pulleys": Given(state.names),
            "back": Given(state.against),
        },
        asked=Asked("pulleys", ""),
        steps=_steps(state, way, other, flipped=flipped),
        right=((right, _words(right)),),
        wrong=wrong_answers(IDEAS, state, _words),
        right_because="Those that the belt touches with its back.",
        **pictured(
            drive_view, view, replace(view, note=f"Against the crankshaft: {_words(right)}.")
        ),
    )


def _ways(rotation: Rotation, *, flipped: bool) -> tuple[Rotation, Rotation]:
    """How the crankshaft turns seen from the end in question, and the other way."""
    both = (Rotation.CLOCKWISE, Rotation.ANTICLOCKWISE)
    same = rotation is Rotation.CLOCKWISE
    return both if same is not flipped else (both[1], both[0])


def _route(state: Round) -> str:
    said = [f"{name} ({_SIDE[back]})" for name, back in zip(state.names, state.back, strict=True)]
    return listed(said)


def _words(names: object) -> str:
    if not isinstance(names, tuple) or not names:
        return "none of them"
    return listed(names)


def _steps(state: Round, way: str, other: str, *, flipped: bool) -> tuple[Step, ...]:
    seen = (
        Step(f"Seen from the flywheel end it is the other way round: crankshaft {way}."),
    ) if flipped else ()  # fmt: skip
    count = Step(
        f"The belt's back touches {len(state.against)} of {len(state.names)} pulleys.",
        len(state.against),
    )
    return (
        *seen,
        count,
        Step(f"Inside the belt all turn like the crankshaft, {way}: {_words(state.inside())}."),
        Step(f"On its back they turn {other}: {_words(state.against)}."),
    )
