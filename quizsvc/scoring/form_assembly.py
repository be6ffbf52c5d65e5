"""Build a test form from a pool of items so that it meets a blueprint and equals other forms.

A mixed-integer programme (SciPy's HiGHS): counts of each blueprint cell, at most one of items
that answer each other, expected score and information at the cut within stated tolerances.
What is left free is decided by weights from the candidate's seed, so every candidate gets a form
of their own, drawn again the same in a dispute, and little-used items come first.
Source: van der Linden 2005, Linear Models for Optimal Test Design.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from quizsvc.errors import InputError

Numbers = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PoolItem:
    """What the assembly needs to know of an item (a bank entry, or a family on a sheet)."""

    id: str
    topic: str
    level: str
    expected: float  # chance that somebody just at the cut answers it right
    information: float  # at the cut
    used: int = 0  # forms it stood in lately
    answers: frozenset[str] = frozenset()  # ids of items it answers or is answered by


@dataclass(frozen=True, slots=True)
class Cell:
    topic: str
    level: str
    count: int


@dataclass(frozen=True, slots=True)
class Targets:
    """Expected score of the whole form (in items) and least information at the cut."""

    expected: float
    expected_tolerance: float
    information: float
    information_tolerance: float
    most_used: int | None = None  # an item that stood in so many forms is left out


@dataclass(frozen=True, slots=True)
class Form:
    items: tuple[str, ...]
    expected: float
    information: float


def typical_targets(
    pool: tuple[PoolItem, ...],
    blueprint: tuple[Cell, ...],
    *,
    expected_tolerance: float = 0.5,
    information_share: float = 0.1,
) -> Targets:
    """Return the targets of an average form of this pool, so that most forms can meet them."""
    expected = information = 0.0
    for cell in blueprint:
        fitting = _fitting(pool, cell)
        if fitting:
            expected += cell.count * float(np.mean([one.expected for one in fitting]))
            information += cell.count * float(np.mean([one.information for one in fitting]))
    return Targets(expected, expected_tolerance, information, information_share * information)


def missing_from_pool(
    pool: tuple[PoolItem, ...], blueprint: tuple[Cell, ...]
) -> tuple[tuple[Cell, int], ...]:
    """Return the cells that the pool cannot fill, with how many items are missing."""
    short = ((cell, cell.count - len(_fitting(pool, cell))) for cell in blueprint)
    return tuple((cell, gap) for cell, gap in short if gap > 0)


def assemble_form(
    pool: tuple[PoolItem, ...],
    blueprint: tuple[Cell, ...],
    targets: Targets,
    *,
    seed: int,
    barred: frozenset[str] = frozenset(),
) -> Form:
    """Return a form that meets the blueprint; ``barred`` items (seen before) stay out.

    Raises:
        InputError: the blueprint cannot be met; the error says what is missing.
    """
    usable = tuple(
        one
        for one in pool
        if one.id not in barred and (targets.most_used is None or one.used < targets.most_used)
    )
    short = missing_from_pool(usable, blueprint)
    if short:
        raise InputError(
            "the blueprint cannot be met: "
            + "; ".join(f"{gap} more of {cell.topic}, {cell.level}" for cell, gap in short)
            + ".",
            field="blueprint",
            remedy="Approve more items, or ask for fewer.",
        )
    chosen = _solve(usable, blueprint, targets, seed)
    if chosen is None:
        raise _why_not(usable, blueprint, targets, seed)
    kept = [one for one, taken in zip(usable, chosen, strict=True) if taken]
    return Form(
        tuple(one.id for one in kept),
        float(sum(one.expected for one in kept)),
        float(sum(one.information for one in kept)),
    )


def _fitting(pool: tuple[PoolItem, ...], cell: Cell) -> list[PoolItem]:
    return [one for one in pool if (one.topic, one.level) == (cell.topic, cell.level)]


def _solve(
    pool: tuple[PoolItem, ...], blueprint: tuple[Cell, ...], targets: Targets | None, seed: int
) -> npt.NDArray[np.bool_] | None:
    constraints = [_counts(pool, blueprint)]
    enemies = _enemies(pool)
    if enemies is not None:
        constraints.append(enemies)
    if targets is not None:
        constraints += _equal_forms(pool, targets)
    result = scipy.optimize.milp(
        _wish(pool, seed),
        constraints=constraints,
        integrality=np.ones(len(pool), dtype=np.int64),
        bounds=scipy.optimize.Bounds(0, 1),
    )
    return None if result.x is None else np.asarray(result.x > 0.5)


def _wish(pool: tuple[PoolItem, ...], seed: int) -> Numbers:
    """Return costs: chance by the seed, and a step up for each time an item was used."""
    chance = np.random.default_rng(seed).random(len(pool))
    wish: Numbers = chance + np.array([one.used for one in pool], dtype=float)
    return wish


def _counts(
    pool: tuple[PoolItem, ...], blueprint: tuple[Cell, ...]
) -> scipy.optimize.LinearConstraint:
    wanted: Counter[tuple[str, str]] = Counter()
    for cell in blueprint:
        wanted[cell.topic, cell.level] += cell.count
    # Items outside the blueprint belong to a cell of count 0.
    cells = sorted(set(wanted) | {(one.topic, one.level) for one in pool})
    rows = np.array([[(one.topic, one.level) == cell for one in pool] for cell in cells], float)
    counts = np.array([wanted[cell] for cell in cells], float)
    return scipy.optimize.LinearConstraint(rows, counts, counts)


def _enemies(pool: tuple[PoolItem, ...]) -> scipy.optimize.LinearConstraint | None:
    place = {one.id: index for index, one in enumerate(pool)}
    pairs = {frozenset((one.id, other)) for one in pool for other in one.answers if other in place}
    if not pairs:
        return None
    rows = np.zeros((len(pairs), len(pool)))
    for row, pair in enumerate(sorted(pairs, key=sorted)):
        rows[row, [place[item_id] for item_id in pair]] = 1
    return scipy.optimize.LinearConstraint(rows, -np.inf, 1)


def _equal_forms(
    pool: tuple[PoolItem, ...], targets: Targets
) -> list[scipy.optimize.LinearConstraint]:
    expected = np.array([[one.expected for one in pool]])
    information = np.array([[one.information for one in pool]])
    return [
        scipy.optimize.LinearConstraint(
            expected,
            targets.expected - targets.expected_tolerance,
            targets.expected + targets.expected_tolerance,
        ),
        scipy.optimize.LinearConstraint(
            information,
            targets.information - targets.information_tolerance,
            targets.information + targets.information_tolerance,
        ),
    ]


def _why_not(
    pool: tuple[PoolItem, ...], blueprint: tuple[Cell, ...], targets: Targets, seed: int
) -> InputError:
    """Return the error that names the first wish which, given up, lets a form be built."""
    if _solve(pool, blueprint, None, seed) is None:
        return InputError(
            "the blueprint cannot be met: too many of the items answer each other.",
            field="blueprint",
            remedy="Approve items that stand on their own.",
        )
    return InputError(
        "no form comes as near to the others as is asked "
        f"(expected score {targets.expected:.1f} ± {targets.expected_tolerance:.1f}, "
        f"information {targets.information:.2f} ± {targets.information_tolerance:.2f}).",
        field="blueprint",
        remedy="Widen the tolerance, or approve items of other difficulty.",
    )
