"""All that a log of answers tells of one item: difficulty, link, options, fit, fairness, drift.

In practice nobody answers the same test, so the "rest of the test" that a corrected
point-biserial needs is the level believed of the person just *before* the answer: it holds all
they had answered so far, and this answer not.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
import numpy.typing as npt

from quizsvc.errors import InputError
from quizsvc.scoring.classical import (
    DistractorCurve,
    Interval,
    distractor_curves,
    point_biserial,
    upper_lower_index,
    wilson_interval,
)
from quizsvc.scoring.competence import Belief, ItemParameters, expected_chance
from quizsvc.scoring.differential import Differential, mantel_haenszel
from quizsvc.scoring.item_flags import ENOUGH_ANSWERS, Finding, ItemStatistics, item_findings

Numbers = npt.NDArray[np.float64]
OTHER = "another answer"  # neither right nor foreseen
STRATA = 5  # of equal competence, for comparing classes
KELLEY = 0.27  # share of people in the upper and in the lower group
FEWEST_OF_CLASS = 20  # answers, before a class is compared with the others
DRIFT_P = 0.01  # two revisions differ if chance alone gives so much so rarely


@dataclass(frozen=True, slots=True)
class LoggedAnswer:
    """One answer to the item. ``chosen`` names what was taken, ``group`` the person's class."""

    correct: bool
    chosen: str
    level: Belief  # of the person, before the answer
    item: ItemParameters
    group: str
    revision: str


@dataclass(frozen=True, slots=True)
class Part:
    """A part of the answers: those on one revision, or with numbers of one range."""

    label: str
    answers: int
    right: int

    @property
    def share(self) -> float:
        return self.right / self.answers

    @property
    def interval(self) -> Interval:
        return wilson_interval(self.right, self.answers)


@dataclass(frozen=True, slots=True)
class ClassGap:
    group: str
    answers: int
    gap: Differential


@dataclass(frozen=True, slots=True)
class Drift:
    """The newest revision against the one before; ``p`` is the chance of so much by luck."""

    before: Part
    after: Part
    p: float


@dataclass(frozen=True, slots=True)
class ItemStudied:
    answers: int
    right: int
    interval: Interval
    link: float
    upper_lower: float
    curves: tuple[DistractorCurve, ...]
    infit: float
    outfit: float
    gaps: tuple[ClassGap, ...]
    revisions: tuple[Part, ...]
    drift: Drift | None
    findings: tuple[Finding, ...]


def study(
    log: tuple[LoggedAnswer, ...],
    right_options: frozenset[str],
    offered: frozenset[str] = frozenset(),
) -> ItemStudied:
    """Return what the answers tell, oldest first.

    ``right_options`` name what is right; of ``offered`` some may have been taken by nobody.

    Raises:
        InputError: there is no answer.
    """
    if not log:
        raise InputError("an item without answers cannot be studied.", field="answers", value=0)
    marks = np.array([one.correct for one in log], dtype=float)
    levels = np.array([one.level.mean for one in log])
    link = point_biserial(marks, levels)
    curves = distractor_curves(tuple(one.chosen for one in log), right_options, levels)
    curves += _untaken(curves, offered)
    infit, outfit = _fit(log)
    gaps = _gaps(log, marks, levels)
    revisions = parts_of((one.revision, one.correct) for one in log)
    right = int(marks.sum())
    unfair = next((one.group for one in gaps if one.gap.size == "large"), "")
    return ItemStudied(
        len(log),
        right,
        wilson_interval(right, len(log)),
        link,
        _upper_lower(marks, levels),
        curves,
        infit,
        outfit,
        gaps,
        revisions,
        _drift(revisions),
        item_findings(
            ItemStatistics(
                len(log),
                right / len(log),
                link,
                tuple(curve for curve in curves if curve.option != OTHER),
                unfair,
            )
        ),
    )


def _untaken(
    curves: tuple[DistractorCurve, ...], offered: frozenset[str]
) -> tuple[DistractorCurve, ...]:
    taken = {curve.option for curve in curves}
    groups = len(curves[0].shares)
    return tuple(
        DistractorCurve(
            option, correct=False, shares=(0.0,) * groups, total_share=0.0, point_biserial=0.0
        )
        for option in sorted(offered - taken)
    )


def parts_of(marked: Iterable[tuple[str, bool]]) -> tuple[Part, ...]:
    """Return the parts in the order in which they first came."""
    answers: Counter[str] = Counter()
    right: Counter[str] = Counter()
    for label, correct in marked:
        answers[label] += 1
        right[label] += correct
    return tuple(Part(label, count, right[label]) for label, count in answers.items())


def by_number(
    values: list[float], marks: list[bool], name: Callable[[float], str]
) -> tuple[Part, ...]:
    """Return the answers in up to three ranges of a number asked about, low to high.

    Few different numbers stand each for itself.

    >>> [part.label for part in by_number([1.0, 1.0, 4.0], [True, False, True], str)]
    ['1.0', '4.0']
    """
    distinct = sorted(set(values))
    if len(distinct) <= 4:
        order = sorted(zip(values, marks, strict=True), key=lambda pair: pair[0])
        return parts_of((name(value), mark) for value, mark in order)
    low, high = np.quantile(np.array(values), [1 / 3, 2 / 3])
    found: dict[int, list[tuple[float, bool]]] = defaultdict(list)
    for value, mark in zip(values, marks, strict=True):
        found[int(value > low) + int(value > high)].append((value, mark))
    return tuple(
        Part(
            f"{name(min(v for v, _ in part))} to {name(max(v for v, _ in part))}",
            len(part),
            sum(mark for _, mark in part),
        )
        for _, part in sorted(found.items())
    )


def differ(first: Part, second: Part) -> float:
    """Return the chance that shares so different come of one and the same (two-sided, pooled z).

    Source: the usual test of two proportions, for example Agresti, Categorical Data Analysis.

    >>> round(differ(Part("a", 100, 50), Part("b", 100, 70)), 4)
    0.0039
    """
    pooled = (first.right + second.right) / (first.answers + second.answers)
    spread = pooled * (1 - pooled) * (1 / first.answers + 1 / second.answers)
    if spread == 0:
        return 1.0
    z = abs(first.share - second.share) / spread**0.5
    return 2 * (1 - NormalDist().cdf(z))


def _drift(revisions: tuple[Part, ...]) -> Drift | None:
    """Compare the newest revision that has answers with the one of the same thing before it."""
    if not revisions:
        return None
    newest = revisions[-1]
    thing = newest.label.rpartition(" ")[0]  # "demo-engine, revision" or "version"
    before = [one for one in revisions[:-1] if one.label.rpartition(" ")[0] == thing]
    if not before or min(before[-1].answers, newest.answers) < ENOUGH_ANSWERS:
        return None
    return Drift(before[-1], newest, differ(before[-1], newest))


def _upper_lower(marks: Numbers, levels: Numbers) -> float:
    count = max(1, round(KELLEY * len(marks)))
    order = np.argsort(levels, kind="stable")
    upper, lower = marks[order[-count:]], marks[order[:count]]
    return upper_lower_index(int(upper.sum()), int(lower.sum()), count, count)


def _fit(log: tuple[LoggedAnswer, ...]) -> tuple[float, float]:
    """Return weighted and plain mean squares of the residuals (Wright & Masters 1982).

    What is expected is averaged over the belief, so that a person little known counts as such.
    """
    expected = np.array([expected_chance(one.level, one.item) for one in log])
    marks = np.array([one.correct for one in log], dtype=float)
    spread = expected * (1 - expected)
    gap2 = (marks - expected) ** 2
    return float(gap2.sum() / spread.sum()), float((gap2 / spread).mean())


def _gaps(log: tuple[LoggedAnswer, ...], marks: Numbers, levels: Numbers) -> tuple[ClassGap, ...]:
    counts = Counter(one.group for one in log if one.group)
    if len(counts) < 2:
        return ()
    edges = np.quantile(levels, np.linspace(0, 1, STRATA + 1)[1:-1])
    strata = np.searchsorted(edges, levels)
    found = []
    for group, count in sorted(counts.items()):
        if count < FEWEST_OF_CLASS:
            continue
        inside = np.array([one.group == group for one in log])
        try:
            found.append(ClassGap(group, count, mantel_haenszel(marks, inside, strata)))
        except InputError:  # the classes have no level in common yet
            continue
    return tuple(found)
