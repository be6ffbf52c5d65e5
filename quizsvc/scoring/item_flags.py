"""What an item's statistics say in words, and what to do about it.

The limits are rules of thumb of the item-analysis literature (Ebel & Frisbie 1991; Haladyna
2004), not laws; a flag asks a person to look, and changes nothing by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from quizsvc.scoring.classical import DistractorCurve

ENOUGH_ANSWERS = 30  # below this a statistic moves too much to be acted on
TOO_EASY, TOO_HARD = 0.95, 0.20
WEAK_LINK = 0.10  # corrected point-biserial
RARELY_TAKEN = 0.03


class Flag(StrEnum):
    KEY_MAY_BE_WRONG = "key may be wrong"
    NOBODY_TAKES_OPTION = "an option nobody takes"
    TOO_EASY = "too easy"
    TOO_HARD = "too hard"
    TELLS_LITTLE = "tells little"
    UNFAIR = "unfair to a class"


@dataclass(frozen=True, slots=True)
class ItemStatistics:
    """What is known of one item over some period."""

    answers: int
    difficulty: float  # share right
    link: float  # corrected point-biserial
    curves: tuple[DistractorCurve, ...] = ()
    unfair: str = ""  # the class it treats differently, from a differential analysis


@dataclass(frozen=True, slots=True)
class Finding:
    flag: Flag
    says: str
    do: str


def by_chance(answers: int) -> float:
    """Return what a link hardly passes by chance alone: 1.64 standard errors (one-sided 5 %).

    >>> round(by_chance(100), 3)
    0.164
    """
    return 1.64 / math.sqrt(max(1, answers))


def item_findings(item: ItemStatistics) -> tuple[Finding, ...]:
    """Return what stands out, most serious first; nothing below `ENOUGH_ANSWERS` answers."""
    if item.answers < ENOUGH_ANSWERS:
        return ()
    found = (_wrong_key(item), _unfair(item), _too_hard(item), _too_easy(item), _weak(item))
    kept = [finding for finding in found if finding]
    if any(finding.flag is Flag.KEY_MAY_BE_WRONG for finding in kept):
        kept = [finding for finding in kept if finding.flag is not Flag.TELLS_LITTLE]
    return tuple(kept) + _idle_options(item)


def _wrong_key(item: ItemStatistics) -> Finding | None:
    noise = by_chance(item.answers)
    right = max((c.point_biserial for c in item.curves if c.correct), default=item.link)
    rival = max(
        (c for c in item.curves if not c.correct), key=lambda c: c.point_biserial, default=None
    )
    drawn_away = rival is not None and rival.point_biserial > max(right, WEAK_LINK) + noise
    if item.link >= -noise and not drawn_away:
        return None
    who = f"Option {rival.option} draws the strong learners. " if rival and drawn_away else ""
    return Finding(
        Flag.KEY_MAY_BE_WRONG,
        f"{who}Those who do well elsewhere tend to miss this item (link {item.link:+.2f}).",
        "Work the item again from the sheet before it is put to anybody else.",
    )


def _unfair(item: ItemStatistics) -> Finding | None:
    if not item.unfair:
        return None
    return Finding(
        Flag.UNFAIR,
        f"At equal competence {item.unfair} answers it differently from the others.",
        "Read the wording with somebody of that class; look for a word or tool they do not use.",
    )


def _too_easy(item: ItemStatistics) -> Finding | None:
    if item.difficulty <= TOO_EASY:
        return None
    return Finding(
        Flag.TOO_EASY,
        f"{item.difficulty:.0%} answer it right, so it hardly parts anybody from anybody.",
        "Keep it where everybody must know it; elsewhere ask at a higher level.",
    )


def _too_hard(item: ItemStatistics) -> Finding | None:
    if item.difficulty >= TOO_HARD:
        return None
    return Finding(
        Flag.TOO_HARD,
        f"Only {item.difficulty:.0%} answer it right.",
        "Check the key and the wording; then teach the topic again.",
    )


def _weak(item: ItemStatistics) -> Finding | None:
    if item.link >= WEAK_LINK or item.difficulty > TOO_EASY:
        return None
    return Finding(
        Flag.TELLS_LITTLE,
        f"It has little to do with the rest of the test (link {item.link:+.2f}).",
        "Look for a second idea hidden in the prompt, or an option that is nearly right.",
    )


def _idle_options(item: ItemStatistics) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            Flag.NOBODY_TAKES_OPTION,
            f"Option {curve.option} was taken by {curve.total_share:.0%}.",
            "Put a wrong idea in its place that somebody really holds.",
        )
        for curve in item.curves
        if not curve.correct and curve.total_share < RARELY_TAKEN
    )
