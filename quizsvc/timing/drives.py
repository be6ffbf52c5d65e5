"""Several drives in one engine: which shaft turns how fast, and what one tooth is worth there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from quizsvc.timing.quantity import number, refuse, sequence, whole


@dataclass(frozen=True, slots=True)
class Stage:
    """Two wheels on one chain, belt or gear pair, on two shafts.

    ``reverses``: the second turns against the first (its back-side wheel, or a pair of gears).
    """

    driving: str
    driving_teeth: int
    driven: str
    driven_teeth: int
    reverses: bool = False

    def __post_init__(self) -> None:
        whole("driving_teeth", self.driving_teeth, at_least=3)
        whole("driven_teeth", self.driven_teeth, at_least=3)
        if self.driving == self.driven:
            refuse("driven", self.driven, "is the driving shaft itself.")

    @property
    def turns(self) -> Fraction:
        """Turns of the driven shaft per turn of the driving one; negative against it."""
        turns = Fraction(self.driving_teeth, self.driven_teeth)
        return -turns if self.reverses else turns


def shaft_turns(stages: Iterable[Stage], first: str = "crank") -> dict[str, Fraction]:
    """Give the turns of each shaft per turn of the first, over primary and secondary drives.

    Raises InputError when a shaft is not reached, or is driven twice at different speeds.

    >>> primary = Stage("crank", 20, "intermediate", 30)
    >>> secondary = Stage("intermediate", 24, "intake cam", 32)
    >>> shaft_turns([secondary, primary])["intake cam"]
    Fraction(1, 2)
    """
    left = _stages(stages)
    turns = {first: Fraction(1)}
    while left:
        reached = [stage for stage in left if stage.driving in turns]
        if not reached:
            refuse("stages", left[0].driving, f"is not driven from {first}.",
                   "Name the drive between them.")  # fmt: skip
        for stage in reached:
            _set(turns, stage.driven, turns[stage.driving] * stage.turns)
        left = tuple(stage for stage in left if stage not in reached)
    return turns


def tooth_crank_deg(teeth: int, turns_per_crank_turn: float = 0.5) -> float:
    """Crank degrees that one tooth of slip on a wheel is worth: 360 / (N · turns).

    On a half-speed cam sprocket 720/N; on an intermediate sprocket it is less than it seems.

    >>> tooth_crank_deg(36), round(tooth_crank_deg(30, 2 / 3), 9)
    (20.0, 18.0)
    """
    whole("teeth", teeth, at_least=3)
    return 360 / (teeth * number("turns_per_crank_turn", turns_per_crank_turn, above=0))


def _stages(stages: object) -> tuple[Stage, ...]:
    found = sequence("stages", stages)
    checked = tuple(stage for stage in found if isinstance(stage, Stage))
    if len(checked) != len(found):
        refuse("stages", found, "must hold Stages only.")
    return checked


def _set(turns: dict[str, Fraction], shaft: str, speed: Fraction) -> None:
    if turns.setdefault(shaft, speed) != speed:
        refuse("stages", shaft, f"is driven at {turns[shaft]} and at {speed} turns.",
               "Check the teeth: these drives would lock.")  # fmt: skip
