"""Words that make a password easy to guess here: of this program, of its people, of the trade.

A password is refused when hardly anything is left of it without them. There is no rule about
capitals, digits or signs, and none against these words in a longer phrase.
"""

from __future__ import annotations

from collections.abc import Iterable

# Listed in DEVELOPERS.md as well (OWASP ASVS 5.0.0, 6.1.2).
WORDS = (
    *("quizsvc", "quiz", "test", "exam", "training", "practice", "certificate", "certification"),
    *("learner", "instructor", "manager", "administrator", "admin", "teacher", "trainee"),
    *("workshop", "garage", "shop", "class", "bench", "tool", "mechanic", "technician"),
    *("engine", "motor", "timing", "chain", "belt", "camshaft", "crankshaft", "cam", "crank"),
    *("valve", "piston", "cylinder", "sprocket", "tensioner", "torque", "firing", "order"),
    *("password", "passwort", "secret", "welcome", "letmein", "login", "signin", "changeme"),
    *("qwerty", "qwertz", "asdf", "abc", "spring", "summer", "autumn", "winter"),
)
SHORTEST_WORD = 3  # letters of a name that count as a word
FEWEST_LEFT = 6  # letters that must be left


def mostly_words(password: str, about: Iterable[str] = ()) -> bool:
    """Return whether hardly anything is left of a password without the words and ``about``.

    ``about`` are names that belong to the person: own name, sign-in name, shop.

    >>> mostly_words("TimingChain-2026")
    True
    >>> mostly_words("Lea.Invented.99", ["Lea Invented"])
    True
    >>> mostly_words("seven hens beside the camshaft")
    False
    >>> mostly_words("8401736295")
    False
    """
    folded = password.casefold()
    left = folded
    for word in sorted({*WORDS, *_parts(about)}, key=lambda one: (-len(one), one)):
        left = left.replace(word, " ")
    if left == folded:
        return False
    return sum(letter.isalpha() for letter in left) < FEWEST_LEFT


def _parts(names: Iterable[str]) -> set[str]:
    """Return the words in names, and the names without what parts them."""
    words: set[str] = set()
    for name in names:
        parts = "".join(sign if sign.isalnum() else " " for sign in name.casefold()).split()
        words.update(part for part in (*parts, "".join(parts)) if len(part) >= SHORTEST_WORD)
    return words
