"""Wrong ideas about timing and accessory belts."""

from quizsvc.items.misconception import Misconception

MISCONCEPTIONS = (
    Misconception(
        "new-belt-shrinks",
        "wear",
        "A new belt shrinks in use",
        "Heat makes a new belt shorter, so it is fitted looser.",
        "A new belt lengthens in its first hours; its setting allows for that.",
    ),
    Misconception(
        "used-belt-stretches-again",
        "wear",
        "A used belt stretches anew",
        "Set like a new one, a used belt comes right in the first hours.",
        "A belt that has run in hardly lengthens any more: it has its own setting.",
    ),
    Misconception(
        "belt-judged-by-looks",
        "wear",
        "A belt that looks good is good",
        "A look at the belt tells whether it will last.",
        "Its cords and their bond can't be seen: distance or years decide, whichever comes first.",
    ),
    Misconception(
        "all-belts-stand-oil",
        "wear",
        "Any belt stands oil",
        "Since some belts run in oil, oil harms none.",
        "A belt made to run dry swells in oil; a wet belt stands the stated oil.",
    ),
    Misconception(
        "hot-belt-is-longer",
        "wear",
        "A hot belt is a longer belt",
        "Warm rubber is longer, so the belt is looser when hot.",
        "The engine grows more than the belt's cords: the belt is tighter hot than cold.",
    ),
)
