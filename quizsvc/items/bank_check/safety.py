"""Items that touch something dangerous and say nothing about it.

Each hazard has words that raise it and words by which a caution is seen to speak of it. Common
practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from quizsvc.items.bank_check.words import shown_text
from quizsvc.items.banks.bank import whole_caution
from quizsvc.items.banks.keys import Found
from quizsvc.items.banks.schema import AnyItem, WrittenBank


@dataclass(frozen=True, slots=True)
class Hazard:
    name: str
    raised_by: re.Pattern[str]
    spoken_of: re.Pattern[str]
    say: str  # what a caution for it says


def _hazard(name: str, raised_by: str, spoken_of: str, say: str) -> Hazard:
    return Hazard(
        name, re.compile(raised_by, re.IGNORECASE), re.compile(spoken_of, re.IGNORECASE), say
    )


HAZARDS = (
    _hazard(
        "spring",
        r"\bspring|\bplungers?\b|\btensioners?\b[^.?!\n]{0,60}\b(pin|bolt|lock|ratchet)|"
        r"\b(pin|bolt|lock|ratchet)\w*\b[^.?!\n]{0,60}\btensioner|\bpreload",
        r"spring|stored|tension|plunger|load",
        "how the spring's load is held and released",
    ),
    _hazard(
        "heat",
        r"\bhot\b|\bcoolant\b|\bradiator\b|\bscald|\bpressure cap\b",
        r"\bhot\b|\bcool\b|cooled|burn|scald",
        "that hot coolant and parts scald, and to let them cool",
    ),
    _hazard(
        "lifting",
        r"(?<!valve )(?<!cam )(?<!lobe )(?<!maximum )(?<!full )\blift(s|ed|ing)?\b(?! (curve|of the"
        r" valve))|\bhoist|\bjack(s|ed|ing)?\b|\baxle stand|\bengine support|\bengine mount",
        r"\blift|\bstand|\bsupport|\bjack|\bhoist",
        "how the vehicle or engine is lifted and held",
    ),
    _hazard(
        "battery",
        r"\bbatter(y|ies)\b|\bhigh[- ]voltage\b",
        r"batter|short|voltage|electric",
        "that a battery can short, arc or gas, and who may work on high voltage",
    ),
    _hazard(
        "rotation",
        r"\brotat\w*|\b(turn|spin|bar|crank(?=ed|ing))(s|ed|ing)?\b[^.?!\n]{0,25}\b(crankshaft|crank|engine|"
        r"camshaft|cam|drive|sprocket)s?\b|\bstarter\b|\bidl(e|es|ing)\b|"
        r"\bengine (is )?run(s|ning)",
        r"turn|rotat|finger|moving|running|spin",
        "that parts turn, and to keep hands and clothes away",
    ),
    _hazard(
        "interference",
        r"\binterference\b|\bvalves?\b[^.?!\n]{0,30}\b(meet|meets|touch|touches|hit|hits|strike|"
        r"strikes|bend|bent)\b|\bpistons?\b[^.?!\n]{0,30}\b(meet|touch|hit|strike)",
        r"valve|piston|interference",
        "that valves can meet pistons when shafts are turned singly",
    ),
)


def hazards_in(text: str) -> tuple[Hazard, ...]:
    """Return the hazards that a text raises.

    >>> [hazard.name for hazard in hazards_in("Pull the tensioner pin.")]
    ['spring']
    """
    return tuple(hazard for hazard in HAZARDS if hazard.raised_by.search(text))


def cautions_missing(bank: WrittenBank, item: AnyItem) -> Iterator[Found]:
    # The bank's opening sentence is the same for all and speaks of no hazard of its own.
    own = whole_caution(bank, item).removeprefix(" ".join(bank.caution_first.split()))
    for hazard in hazards_in(shown_text(item)):
        if not hazard.spoken_of.search(own):
            found = hazard.raised_by.search(shown_text(item))
            word = found[0] if found else ""
            problem = f"it touches {hazard.name}, and the caution does not speak of it."
            remedy = f"Add a caution that says {hazard.say}."
            yield "no-caution", ("caution",) if item.caution else (), word, problem, remedy
