"""Options that tell the answer to somebody who knows the trade of tests, not of engines.

The cues are the usual ones of item-writing guides (for example Haladyna, Downing & Rodriguez 2002,
"A review of multiple-choice item-writing guidelines"): the longest option, grammar that fits one
option alone, "all of the above", absolutes only in wrong options.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from quizsvc.items.bank_check.words import words_of
from quizsvc.items.banks.bank import Bank
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.keys import Found
from quizsvc.items.banks.schema import AnyItem, ChoiceItem, WrittenOption

LONGER_BY = 1.25  # the right option against the longest wrong one
LONGER_BY_CHARACTERS = 12
EXTREME_SHARE = 0.45  # of a bank's one-choice items; chance alone gives 0.25 with four options
ENOUGH_ITEMS = 8

_CATCH_ALL = re.compile(
    r"\b(all|none|both|neither|any) of (the )?(above|these|those|them|others|other answers)\b",
    re.IGNORECASE,
)
_ABSOLUTES = frozenset(
    {"always", "never", "all", "none", "every", "everything", "nothing", "nobody"}
    | {"only", "impossible", "guaranteed", "absolutely", "entirely", "completely"}
)
_ENDS_WITH_ARTICLE = re.compile(r"\b(an?)[\s:.…_]*$", re.IGNORECASE)
_VOWEL_SOUND = re.compile(
    r"(?!uni|use|eu|one\b|once\b)(?:[aeiou]|hour|honest|8|11\b|18\b)", re.IGNORECASE
)


def giveaways(item: AnyItem) -> Iterator[Found]:
    if not isinstance(item, ChoiceItem):
        return
    right = [option for option in item.options if option.correct]
    wrong = [option for option in item.options if not option.correct]
    if right and wrong:
        yield from _longest(item, right, wrong)
        yield from _article(item)
        yield from _end_mark(item)
        yield from _absolutes(right, wrong)
    yield from _catch_all(item)


def bank_giveaways(bank: Bank) -> Iterator[Fault]:
    """Report a bank whose right options are mostly the longest, or the shortest of their item.

    Each item may pass alone, and guessing by length pays all the same.
    """
    chosen = [item for item in bank.written.items if isinstance(item, ChoiceItem)]
    chosen = [item for item in chosen if item.kind == "one choice"]
    if len(chosen) < ENOUGH_ITEMS:
        return
    for word, sign in (("longest", 1), ("shortest", -1)):
        odd = [item.id for item in chosen if _right_is_extreme(item, sign)]
        if len(odd) > EXTREME_SHARE * len(chosen):
            yield Fault(
                file=bank.file,
                line=bank.line("items"),
                check="giveaway-length",
                item="",
                field="items",
                value=f"{len(odd)} of {len(chosen)}",
                problem=f"so many right options are the {word} that guessing by length pays.",
                remedy=f"Even out the lengths in some of them: {', '.join(odd[:8])}.",
            )


def _right_is_extreme(item: ChoiceItem, sign: int) -> bool:
    """Say whether the right option alone is the longest (sign 1) or the shortest (-1)."""
    right = [sign * len(option.text) for option in item.options if option.correct]
    wrong = [sign * len(option.text) for option in item.options if not option.correct]
    return bool(right and wrong) and max(right) > max(wrong)


def _longest(
    item: ChoiceItem, right: list[WrittenOption], wrong: list[WrittenOption]
) -> Iterator[Found]:
    if item.kind == "one choice":
        length = float(len(right[0].text))
        other = float(max(len(option.text) for option in wrong))
    else:
        length = sum(len(option.text) for option in right) / len(right)
        other = sum(len(option.text) for option in wrong) / len(wrong)
    if length > LONGER_BY * other and length - other >= LONGER_BY_CHARACTERS:
        place = item.options.index(right[0])
        problem = f"the right option is clearly the longest ({length:.0f} against {other:.0f})."
        remedy = "Shorten it, or give the wrong ones as much detail."
        yield "giveaway-length", ("options", place, "text"), right[0].text, problem, remedy


def _article(item: ChoiceItem) -> Iterator[Found]:
    found = _ENDS_WITH_ARTICLE.search(item.prompt.strip())
    if not found:
        return
    wants_vowel = found[1].casefold() == "an"
    fits = [bool(_VOWEL_SOUND.match(option.text)) == wants_vowel for option in item.options]
    if not all(fits):
        place = fits.index(False)
        problem = f"the prompt ends with {found[1]!r}, which does not fit this option."
        remedy = 'End the prompt with "a/an", or move the article into the options.'
        text = item.options[place].text
        yield "giveaway-grammar", ("options", place, "text"), text, problem, remedy


def _end_mark(item: ChoiceItem) -> Iterator[Found]:
    """Report the one right option that alone has, or lacks, a full stop or a capital letter."""
    for cue, value, what in (
        (_stops, True, "ends with a full stop"),
        (_stops, False, "ends without a full stop"),
        (_capital, True, "begins with a capital"),
        (_capital, False, "begins without a capital"),
    ):
        having = [i for i, option in enumerate(item.options) if cue(option.text) is value]
        if len(having) == 1 and len(item.options) > 2 and item.options[having[0]].correct:
            text = item.options[having[0]].text
            problem = f"the right option alone {what}."
            remedy = "Write all options in the same way."
            yield "giveaway-grammar", ("options", having[0], "text"), text, problem, remedy


def _stops(text: str) -> bool:
    return text.rstrip().endswith(".")


def _capital(text: str) -> bool:
    return text[:1].isupper()


def _catch_all(item: ChoiceItem) -> Iterator[Found]:
    for i, option in enumerate(item.options):
        if _CATCH_ALL.search(option.text):
            problem = "options that speak of the others can be ruled in or out without knowledge."
            remedy = 'Write what is meant, or make it kind = "several choices".'
            yield "giveaway-catch-all", ("options", i, "text"), option.text, problem, remedy


def _absolutes(right: list[WrittenOption], wrong: list[WrittenOption]) -> Iterator[Found]:
    if any(_absolute(option) for option in right):
        return
    having = [option for option in wrong if _absolute(option)]
    if len(having) >= 2 or len(having) == len(wrong):
        words = sorted({word for option in having for word in _absolute(option)})
        problem = "absolutes stand only in wrong options."
        remedy = "Soften them, or say in the right one just as firmly what is so."
        yield "giveaway-absolutes", ("options",), ", ".join(words), problem, remedy


def _absolute(option: WrittenOption) -> frozenset[str]:
    return _ABSOLUTES & set(words_of(option.text))
