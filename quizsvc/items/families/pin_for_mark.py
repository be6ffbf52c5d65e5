"""Family `pin-for-mark`: point at the pin on which a cam mark must stand."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache, partial
from math import hypot

from quizsvc.figures import drive_state, drive_view
from quizsvc.figures.drive_state import DriveView
from quizsvc.figures.scene import Area, Circle, Circles, Ink, Label, Point, Scene, Style, Weight
from quizsvc.items import cautions
from quizsvc.items.assemble import Question
from quizsvc.items.choosing import Draw
from quizsvc.items.families.pins_apart import CONVENTION
from quizsvc.items.family import family
from quizsvc.items.mark_pair import clockwise, pair_view, turning
from quizsvc.items.model import Asked, Given, Kind, Level, Step
from quizsvc.items.options import Idea, Redraw, wrong_answers
from quizsvc.sheets.schema import EngineSheet

ASKED = Asked("place", "")
LETTERS = "ABCDEF"
_CHAINS = ((12, 60), (13, 64), (14, 68))  # crank teeth, links: pins large enough to point at


@dataclass(frozen=True, slots=True)
class Counted:
    """Pins to count along a strand from the pin at the crank mark."""

    view: DriveView
    pins: int
    links: int
    tight: bool

    def pin(self, pins: int) -> int:
        """Return the pin's number in running direction from the crank mark.

        The crank pulls the tight strand in: it is met against the running direction.
        """
        return (-pins if self.tight else pins) % self.links


IDEAS: tuple[Idea[Counted], ...] = (
    Idea(
        "first-pin-counted",
        lambda c: c.pin(c.pins - 1),
        "That begins with one at the mark and so ends one pin short.",
    ),
    Idea(
        "last-pin-left-out",
        lambda c: c.pin(c.pins + 1),
        "That leaves the stated pins between the marks and so ends one pin too far.",
    ),
    Idea(
        "other-way-round",
        lambda c: c.pin(-c.pins),
        "That counts along the other strand.",
    ),
    Idea(
        "outer-plates-only",
        lambda c: c.pin(2 * c.pins) if 2 * c.pins < c.links else None,
        "That counts every second link.",
    ),
    Idea(
        "mixed-counts",
        lambda c: c.pin(-c.pins - 1),
        "That counts along the other strand and leaves out the last pin.",
    ),
)


@family(
    "pin-for-mark",
    version=1,
    topic="marks",
    title="Point at the pin for the mark",
    levels=(Level.APPLY,),
    kinds=(Kind.POINT,),
    gives=("pins", "side"),
    asks="place",
    key_follows="Count pins along the stated strand, not the one at the first mark.",
    misconceptions=tuple(idea.misconception for idea in IDEAS),
    caution=cautions.CHAIN_WORK,
    drive="chain",
)
def ask(sheet: EngineSheet, draw: Draw, _level: Level, _kind: Kind) -> Question:
    count = _drawn(sheet, draw)
    side = "tight" if count.tight else "slack"
    wrong = wrong_answers(IDEAS, count)
    right = count.pin(count.pins)
    pins = {right: "", **{int(one.value): "" for one in wrong}}  # type: ignore[arg-type]
    if len(pins) != len(wrong) + 1:
        raise Redraw
    letters = dict(zip(draw.shuffled(tuple(pins)), LETTERS, strict=False))
    places = _areas(count.view, letters)
    alt = _alt(count.view, letters)
    return Question(
        prompt=(
            f"Seen from the chain end the engine turns {turning(sheet)}; the crankshaft, below, "
            f"pulls the chain. From the crank mark, {count.pins} pins are specified along the "
            f"{side} strand to the cam mark ({CONVENTION}). Point at the pin on which the cam mark "
            f"must stand: {', '.join(sorted(letters.values()))}."
        ),
        givens={"pins": Given(count.pins), "side": Given(side)},
        asked=ASKED,
        steps=_steps(count, letters[right]),
        right=((letters[right], letters[right]),),
        right_because=f"It is pin {count.pins} from the crank mark along the {side} strand.",
        wrong=tuple(replace(one, value=letters[int(one.value)]) for one in wrong),  # type: ignore[arg-type]
        places=places,
        figure=partial(_draw, count.view, tuple(letters.items()), alt),
        solution_figure=partial(_draw, count.view, tuple(letters.items()), alt, right),
        figure_alt=alt,
        reference="pitches from mark to mark; common practice, no source",
    )


def _drawn(sheet: EngineSheet, draw: Draw) -> Counted:
    teeth, links = draw.choice(_CHAINS)
    view = pair_view(teeth, links, runs_clockwise=clockwise(sheet), cam_mark_deg=None)
    # Half of the links reach from the crank mark to the top of the cam sprocket.
    pins = links // 2 - draw.integer(1, teeth // 3)
    return Counted(view, pins, links, tight=draw.chance(0.5))


@lru_cache(64)
def _pins_drawn(view: DriveView) -> tuple[Point, ...]:
    """Return where the figure draws each pin, from the crank mark on in running direction."""
    shapes = drive_view.draw(view).shapes
    return next(s.centres for s in shapes if isinstance(s, Circles) and s.name == "pins")


def _areas(view: DriveView, letters: dict[int, str]) -> tuple[Area, ...]:
    pins = _pins_drawn(view)
    (x0, y0), (x1, y1) = pins[0], pins[1]
    half = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 * 0.49
    found = [Area(letter, pins[pin], half) for pin, letter in letters.items()]
    return tuple(sorted(found, key=lambda area: area.name))


def _alt(view: DriveView, letters: dict[int, str]) -> str:
    """Name the pins one by one along either strand, so that a listener can count as well."""
    links = len(_pins_drawn(view))
    ways = (("in", letters), ("against", {links - pin: one for pin, one in letters.items()}))
    said = []
    for way, lettered in ways:
        here = {pin: letter for pin, letter in lettered.items() if pin <= links // 2}
        if here:
            pins = [f"pin {here[n]}" if n in here else "pin" for n in range(1, max(here) + 1)]
            said.append(
                f"From the pin at the crank mark {way} the running direction: {', '.join(pins)}."
            )
    return f"{drive_state.describe(view)} {' '.join(said)}"


def _draw(
    view: DriveView, letters: tuple[tuple[int, str], ...], alt: str, right: int | None = None
) -> Scene:
    scene = drive_view.draw(view)
    shapes = list(scene.shapes)
    for pin, letter in letters:
        ink = Ink.SOLUTION if pin == right else Ink.ACCENT
        shapes += _lettered(_pins_drawn(view), pin, letter, ink)
    return Scene(scene.width, scene.height, tuple(shapes), alt)


def _lettered(pins: tuple[Point, ...], pin: int, letter: str, ink: Ink) -> list[Circle | Label]:
    """Ring a pin; its letter stands outside the loop at the top, inside below, beside names."""
    (x0, y0), at, (x1, y1) = pins[pin - 1], pins[pin], pins[(pin + 1) % len(pins)]
    length = hypot(x1 - x0, y1 - y0)
    across, up = (y1 - y0) / length, -(x1 - x0) / length
    outwards = 1 if across * (at[0] - _middle(pins)) > 0 or (abs(across) < 0.2 and up < 0) else -1
    top = sum(y for _, y in pins) / len(pins)
    reach = 20 * outwards * (1 if at[1] < top else -1)
    return [
        Circle(at, 7, Style(ink, weight=Weight.MEDIUM), name=f"place {letter}"),
        Label(
            (at[0] + across * reach, at[1] + up * reach + 6), letter, ink=ink, bold=True, halo=True
        ),
    ]


def _middle(pins: tuple[Point, ...]) -> float:
    return sum(x for x, _ in pins) / len(pins)


def _steps(count: Counted, letter: str) -> tuple[Step, ...]:
    side = "tight" if count.tight else "slack"
    way = "against" if count.tight else "in"
    return (
        Step(
            f"The crankshaft pulls the tight strand in, so from its mark the {side} strand is "
            f"followed {way} the running direction."
        ),
        Step("The pin at the crank mark is not counted; the next one is 1.", 1),
        Step(f"Pin {count.pins} is {letter}: there the cam mark belongs.", count.pins),
    )
