"""What a statistic of an item means and what to do about it, one sentence each."""

from __future__ import annotations

from dataclasses import dataclass

from quizsvc.figures.plots.item_information import ItemCurve, tells_most_at
from quizsvc.scoring.classical import DistractorCurve
from quizsvc.scoring.item_flags import RARELY_TAKEN, TOO_EASY, TOO_HARD, WEAK_LINK, by_chance
from quizsvc.scoring.item_study import DRIFT_P, OTHER, ItemStudied, differ
from quizsvc.services.kept_studies import Fitted, KeptStudy, NumberParts

NOISY = 1.3  # mean square, from Wright & Linacre 1994
STRONG_LINK = 0.3
BUSY_MONTH = 0.5  # of the studied answers in the last 30 days


@dataclass(frozen=True, slots=True)
class Told:
    says: str
    do: str


@dataclass(frozen=True, slots=True)
class ItemTold:
    difficulty: Told
    link: Told
    options: Told
    curve: Told
    fit: Told
    fairness: Told
    drift: Told
    exposure: Told


def of_map(dots: int, odd: int) -> Told:
    if not dots:
        return Told("No item has enough answers yet.", "Come back when more were given.")
    return Told(
        f"Each dot is one of {dots} items with enough answers. Far right is easy; below the line "
        "the strong miss it more often than the weak.",
        f"Begin with the {odd} numbered ones, those below the line first."
        if odd
        else "Nothing stands out; nothing needs doing.",
    )


def of_item(kept: KeptStudy) -> ItemTold:
    one = kept.studied
    return ItemTold(
        _difficulty(one),
        _link(one),
        _options(one.curves, one.answers),
        _curve(kept.fitted),
        _fit(one),
        _fairness(one),
        _drift(one),
        _exposure(kept),
    )


def of_numbers(one: NumberParts) -> Told:
    hardest = min(one.parts, key=lambda part: part.share)
    easiest = max(one.parts, key=lambda part: part.share)
    if differ(hardest, easiest) > DRIFT_P:
        return Told("No size of this number is clearly harder than another.", "Leave it.")
    return Told(
        f"{hardest.label} is hardest: {hardest.share:.0%} right, against {easiest.share:.0%} "
        f"with {easiest.label}.",
        "Teach with such numbers, and see whether they ask for another idea as well.",
    )


def _difficulty(one: ItemStudied) -> Told:
    share = one.right / one.answers
    says = f"{share:.0%} answer it right, likely {one.interval.low:.0%} to {one.interval.high:.0%}."
    if share > TOO_EASY:
        return Told(says, "Keep it only where everybody must know it.")
    if share < TOO_HARD:
        return Told(says, "Check key and wording first, then teach the topic again.")
    return Told(says, "That is a difficulty one can work with.")


def _link(one: ItemStudied) -> Told:
    says = (
        f"Link with the person's level before the answer {one.link:+.2f}; the strongest 27 % get "
        f"it right by {one.upper_lower:+.0%} against the weakest."
    )
    if one.link < -by_chance(one.answers):
        return Told(says, "Work the item again from the sheet: its key may be wrong.")
    if one.link < WEAK_LINK:
        return Told(says, "Look for a second idea hidden in the prompt.")
    if one.link < STRONG_LINK:
        return Told(says, "It tells something; a clearer wrong answer would make it tell more.")
    return Told(says, "It tells strong from weak well; keep it.")


def _options(curves: tuple[DistractorCurve, ...], answers: int) -> Told:
    wrong = [curve for curve in curves if not curve.correct and curve.option != OTHER]
    limit = max(WEAK_LINK, by_chance(answers))
    rising = [curve for curve in wrong if curve.point_biserial > limit]
    idle = [curve for curve in wrong if curve.total_share < RARELY_TAKEN]
    if rising:
        return Told(
            f"“{rising[0].option}” is taken more by the strong than by the weak.",
            "Ask somebody who took it why; it may be right as well.",
        )
    if idle:
        return Told(
            f"“{idle[0].option}” is hardly taken by anybody.",
            "Put a wrong idea in its place that somebody really holds.",
        )
    if not wrong:
        return Told("No foreseen wrong answer was given often.", "Nothing needs doing.")
    top = max(wrong, key=lambda curve: curve.total_share)
    return Told(
        f"The wrong answer taken most is “{top.option}” ({top.total_share:.0%}); the strong do not "
        "take it more than the weak.",
        "Speak about it when the topic is taught.",
    )


def _curve(fitted: Fitted) -> Told:
    at = tells_most_at(ItemCurve(fitted.slope, fitted.difficulty, fitted.guessing))
    who = "beginners" if at < -0.7 else "the strong" if at > 0.7 else "people in the middle"
    source = "Fitted on the answers" if fitted.calibrated else "Assumed until it is calibrated"
    return Told(
        f"{source}: slope {fitted.slope:.2f}, difficulty {fitted.difficulty:+.2f}, guessing "
        f"{fitted.guessing:.2f}. It tells most about {who} (level {at:+.1f}).",
        "Use it where such people are to be told apart."
        if fitted.calibrated
        else "Have `quizsvc calibrate` run once there are enough answers.",
    )


def _fit(one: ItemStudied) -> Told:
    says = (
        f"Mean squares of what was not foreseen: {one.infit:.2f} weighted, {one.outfit:.2f} plain"
    )
    if max(one.infit, one.outfit) > NOISY:
        return Told(
            f"{says}; above {NOISY} answers come more by chance than they should.",
            "Look for guessing, or for numbers that make it another item.",
        )
    return Told(f"{says}; near 1 is as expected.", "Nothing needs doing.")


def _fairness(one: ItemStudied) -> Told:
    large = [gap for gap in one.gaps if gap.gap.size == "large"]
    if large:
        harder = "harder" if large[0].gap.delta < 0 else "easier"
        return Told(
            f"At equal level it is {harder} for {large[0].group} (delta "
            f"{large[0].gap.delta:+.1f}, p {large[0].gap.p_value:.3f}).",
            "Read the wording with somebody of that class.",
        )
    if not one.gaps:
        return Told("Too few classes have answered it to compare them.", "Nothing to do yet.")
    return Told("At equal level no class finds it much harder than the others.", "Leave it.")


def _drift(one: ItemStudied) -> Told:
    if one.drift is None:
        return Told(
            "There are not enough answers before and after a new revision to compare.",
            "Nothing to do yet.",
        )
    if one.drift.p > DRIFT_P:
        return Told("It is as hard as before the last revision.", "Leave it.")
    way = "easier" if one.drift.after.share > one.drift.before.share else "harder"
    return Told(
        f"Since {one.drift.after.label} it is {way} (p {one.drift.p:.4f}).",
        "Check the new revision's numbers against the service information.",
    )


def _exposure(kept: KeptStudy) -> Told:
    seen = kept.exposure
    says = (
        f"Answered {seen.week} times in a week, {seen.month} in 30 days, by {seen.people} people; "
        f"by one of them {seen.most_by_one} times."
    )
    if kept.studied.answers >= 100 and seen.month > BUSY_MONTH * kept.studied.answers:
        return Told(says, "It comes up much lately: keep it out of the next test.")
    return Told(says, "It may go on as it does.")
