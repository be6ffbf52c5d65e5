"""The three things a question says about its figure, from one state."""

from __future__ import annotations

from functools import partial
from typing import Protocol, TypedDict, TypeVar

from quizsvc.figures.scene import Scene
from quizsvc.items.model import Figure

S_contra = TypeVar("S_contra", contravariant=True)


class Drawing(Protocol[S_contra]):
    """A module of `quizsvc.figures`, seen as what it offers."""

    def describe(self, state: S_contra, /) -> str: ...
    def draw(self, state: S_contra, /, *, solution: bool = False) -> Scene: ...


class Pictured(TypedDict):
    figure: Figure
    solution_figure: Figure
    figure_alt: str


def pictured(
    module: Drawing[S_contra], state: S_contra, solved: S_contra | None = None
) -> Pictured:
    """Return the figure of a state, its solution and its words, to be laid into a question.

    ``solved`` is another state for the solution, where the answer is no part of the first.
    """
    return {
        "figure": partial(module.draw, state),
        "solution_figure": partial(module.draw, state if solved is None else solved, solution=True),
        "figure_alt": module.describe(state),
    }
