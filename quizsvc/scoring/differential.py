"""Whether an item treats two groups differently at equal competence (Mantel-Haenszel)."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import scipy

from quizsvc.errors import InputError

LARGE, SMALL = 1.5, 1.0  # limits of |delta|, from Zieky 1993 in Holland & Wainer (eds.)


@dataclass(frozen=True, slots=True)
class Differential:
    """``delta`` is −2.35 ln(common odds ratio): negative where the item is harder for the group."""

    odds_ratio: float
    delta: float
    p_value: float

    @property
    def size(self) -> str:
        """Return "large", "moderate" or "negligible"."""
        if self.p_value >= 0.05 or abs(self.delta) < SMALL:
            return "negligible"
        return "large" if abs(self.delta) >= LARGE else "moderate"


def mantel_haenszel(
    right: npt.ArrayLike, in_group: npt.ArrayLike, strata: npt.ArrayLike
) -> Differential:
    """Compare a group with all others on one item, within ``strata`` of equal competence.

    ``right`` 0/1 a person, ``in_group`` true for the group looked at, ``strata`` any labels.
    Source: Mantel & Haenszel 1959; Holland & Thayer 1988, in Wainer & Braun (eds.), Test Validity.

    Raises:
        InputError: no stratum holds persons of both groups with both answers.
    """
    marks = np.asarray(right, dtype=bool)
    group = np.asarray(in_group, dtype=bool)
    levels = np.asarray(strata)
    top = bottom = gap = variance = 0.0
    for level in np.unique(levels):
        here = levels == level
        a = float((marks & ~group & here).sum())  # others right
        b = float((~marks & ~group & here).sum())
        c = float((marks & group & here).sum())
        d = float((~marks & group & here).sum())
        n = a + b + c + d
        if n < 2:
            continue
        top += a * d / n
        bottom += b * c / n
        gap += a - (a + b) * (a + c) / n
        variance += (a + b) * (c + d) * (a + c) * (b + d) / (n * n * (n - 1))
    if not top or not bottom or not variance:
        raise InputError(
            "the groups cannot be compared: no level of competence holds both with both answers.",
            field="strata",
            value=len(np.unique(levels)),
            remedy="Wait for more answers.",
        )
    ratio = top / bottom
    chi2 = max(0.0, abs(gap) - 0.5) ** 2 / variance
    return Differential(ratio, -2.35 * math.log(ratio), float(scipy.stats.chi2.sf(chi2, 1)))
