"""Items that ask nearly what another item asks: looked for among all that are stored."""

from __future__ import annotations

from sqlalchemy import Connection

from quizsvc.items.bank_check.duplicates import NEAR, shingles_of
from quizsvc.items.bank_check.words import words_of
from quizsvc.items.banks.bank import Entry
from quizsvc.items.markdown import plain_words
from quizsvc.rules.actors import Actor
from quizsvc.services.authored import Finding
from quizsvc.services.house import House
from quizsvc.store import cards

CHECK = "near-duplicate"
CANDIDATES = 6  # of the best matches in the text index are compared run by run
LONGEST_WORDS = 12  # of the prompt, looked up in the index: short ones are everywhere


def near_duplicate(
    house: House, connection: Connection, actor: Actor, entry: Entry
) -> tuple[Finding, ...]:
    """Return a finding if a stored item shares half of its runs of words with this one."""
    if CHECK in {one.check for one in entry.written.accepted}:
        return ()
    words = sorted(set(words_of(plain_words(entry.written.prompt))), key=len)[-LONGEST_WORDS:]
    own = shingles_of(entry.written)
    for version_id in cards.nearest(connection, actor.shop_id, words, count=CANDIDATES):
        other = house.shelf.entry(connection, version_id)
        if (other.bank, other.id) == (entry.bank, entry.id):
            continue
        theirs = shingles_of(other.written)
        likeness = len(own & theirs) / len(own | theirs)
        if likeness >= NEAR:
            return (_finding(other, likeness),)
    return ()


def _finding(other: Entry, likeness: float) -> Finding:
    return Finding(
        CHECK,
        "prompt",
        f"{likeness:.0%} of its word runs are those of {other.id} in the bank {other.bank}.",
        "Ask something else, or keep the better of the two.",
        grave=False,
        can_be_kept=True,
    )
