"""Items that ask nearly the same: compared by runs of three words (shingles).

Resemblance is the share of shingles that two items have in common (Broder 1997, "On the resemblance
and containment of documents"). Only items that share a shingle are compared, so that thousands of
items stay quick.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence

from quizsvc.items.bank_check.words import right_texts, words_of
from quizsvc.items.banks.bank import Bank
from quizsvc.items.banks.fault import Fault
from quizsvc.items.banks.keys import item_fault
from quizsvc.items.banks.schema import AnyItem, NumberItem
from quizsvc.items.markdown import plain_words

NEAR = 0.5
RUN = 3
TOO_COMMON = 50  # a shingle in more items than this is a turn of phrase

Place = tuple[int, int]  # bank, item


def near_duplicates(banks: Sequence[Bank]) -> Iterator[Fault]:
    """Report each item that nearly repeats an earlier one of any of the banks."""
    shingles = {
        (b, i): shingles_of(item)
        for b, bank in enumerate(banks)
        for i, item in enumerate(bank.written.items)
    }
    having: dict[tuple[str, ...], list[Place]] = defaultdict(list)
    for place, own in shingles.items():
        shared: Counter[Place] = Counter()
        for shingle in own:
            if len(having[shingle]) < TOO_COMMON:
                shared.update(having[shingle])
                having[shingle].append(place)
        yield from _nearest(banks, place, shared, shingles)


def shingles_of(item: AnyItem) -> frozenset[tuple[str, ...]]:
    """Return the runs of three words of the prompt, and of each right text."""
    texts = [plain_words(item.prompt), *right_texts(item)]
    if isinstance(item, NumberItem):
        texts.append(f"{item.answer.value:g} {item.answer.unit} {item.answer.quantity}")
    runs: set[tuple[str, ...]] = set()
    for text in texts:
        words = words_of(text)
        runs |= {tuple(words[k : k + RUN]) for k in range(max(1, len(words) - RUN + 1))}
    return frozenset(runs)


def _nearest(
    banks: Sequence[Bank],
    place: Place,
    shared: Counter[Place],
    shingles: dict[Place, frozenset[tuple[str, ...]]],
) -> Iterator[Fault]:
    for other, _ in shared.most_common(3):
        common = len(shingles[place] & shingles[other])
        likeness = common / len(shingles[place] | shingles[other])
        if likeness >= NEAR:
            first = banks[other[0]]
            name = first.written.items[other[1]].id
            problem = (
                f"{likeness:.0%} of its word runs are those of {name} "
                f"({first.file}:{first.line('items', other[1])})."
            )
            remedy = "Ask something else, or keep the better of the two."
            yield item_fault(
                banks[place[0]], place[1], ("near-duplicate", ("prompt",), "", problem, remedy)
            )
            return
