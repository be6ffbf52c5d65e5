"""Study an item on the shop's own log: work for the background, never for a page.

What an item's answers tell is kept (`quizsvc.store.studies`); a study reads the latest answers
only, so that it takes as long after ten million answers as after ten thousand.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime, timedelta

from sqlalchemy import Connection

from quizsvc.errors import QuizsvcError
from quizsvc.items.family import all_families
from quizsvc.items.misconception import all_misconceptions
from quizsvc.items.model import Given, Item, Kind, Level
from quizsvc.scoring.competence import Belief, ItemParameters
from quizsvc.scoring.item_flags import ENOUGH_ANSWERS
from quizsvc.scoring.item_study import OTHER, LoggedAnswer, by_number, parts_of, study
from quizsvc.scoring.luck import guessing_chance
from quizsvc.scoring.marking import ideas_of
from quizsvc.scoring.standing import item_parameters
from quizsvc.services.house import House
from quizsvc.services.kept_studies import STUDY, Exposure, Fitted, KeptStudy, NumberParts
from quizsvc.services.recipes import Recipe, draw
from quizsvc.services.replay import GUESSED
from quizsvc.store import competence, studies
from quizsvc.store.studies import StudiedAnswer

MOST_ANSWERS = 2000  # of an item, the latest
DRAWN_AGAIN = 250  # of these, for the numbers that were asked about
DRAWN_OF_FEW = 3  # while there are too few to say anything about numbers
RIGHT = "right"
OFTEN_OFFERED = 0.5  # of the drawn items; rarer wrong answers are not missed if nobody takes them
SELDOM = 0.03
FEWEST_NUMBERS = 12  # answers with numbers before ranges of them are compared


def study_item(house: House, shop_id: int, item_ref: str, *, now: datetime) -> None:
    """Study one item anew and keep what was found."""
    with house.read_for_report() as connection:
        rows = studies.latest_answers(connection, shop_id, item_ref, most=MOST_ANSWERS)
        kept = _studied(house, connection, shop_id, item_ref, rows, now) if rows else None
    if kept is None:
        return
    with house.write() as connection:
        studies.keep_study(
            connection,
            {
                "shop_id": shop_id,
                "item_ref": item_ref,
                "topic": rows[-1].topic,
                "answers": kept.studied.answers,
                "right_answers": kept.studied.right,
                "link": kept.studied.link,
                "flags": "\n".join(one.flag.value for one in kept.studied.findings),
                "body": STUDY.dump_json(kept).decode(),
                "studied_at": now,
            },
        )


def _studied(
    house: House,
    connection: Connection,
    shop_id: int,
    item_ref: str,
    rows: tuple[StudiedAnswer, ...],
    now: datetime,
) -> KeptStudy:
    again = DRAWN_AGAIN if len(rows) >= ENOUGH_ANSWERS else DRAWN_OF_FEW
    drawn = _drawn(house, connection, item_ref, rows[-again:])
    guesses = _guesses(drawn)
    fitted = competence.calibration_of(connection, item_ref)
    names = _Names(item_ref, rows, drawn)
    classes = studies.classes_by_person(connection, shop_id)
    revisions = studies.revision_words(connection)
    log = tuple(
        LoggedAnswer(
            row.correct,
            names.of(row),
            Belief(row.level_before, row.variance_before),
            _parameters(row, fitted, guesses),
            classes.get(row.person_id, ""),
            _revision(row, revisions),
        )
        for row in rows
    )
    return KeptStudy(
        study(log, names.right, names.offered),
        _fitted(rows[-1], fitted, guesses),
        _by_numbers(drawn),
        parts_of((f"{row.kind}, {row.level}", row.correct) for row in rows),
        _exposure(rows, now),
    )


def _drawn(
    house: House, connection: Connection, item_ref: str, rows: tuple[StudiedAnswer, ...]
) -> list[tuple[StudiedAnswer, Item]]:
    """Return answers with the item they were given to, where it can still be drawn."""
    found = []
    for row in rows:
        recipe = Recipe(
            item_ref,
            row.item_version,
            Level(row.level),
            Kind(row.kind),
            row.seed,
            row.sheet_revision_id,
            row.bank_item_version_id,
        )
        try:
            found.append((row, draw(house.shelf, connection, recipe)))
        except QuizsvcError:
            continue
    return found


def _guesses(drawn: list[tuple[StudiedAnswer, Item]]) -> dict[str, float]:
    return {row.kind: guessing_chance(item) for row, item in drawn}


def _parameters(
    row: StudiedAnswer, fitted: tuple[float, float] | None, guesses: dict[str, float]
) -> ItemParameters:
    guessing = guesses.get(row.kind, GUESSED.get(Kind(row.kind), 0.0))
    return item_parameters(fitted, Level(row.level), guessing)


def _fitted(
    row: StudiedAnswer, fitted: tuple[float, float] | None, guesses: dict[str, float]
) -> Fitted:
    used = _parameters(row, fitted, guesses)
    return Fitted(used.a, used.b, used.c, calibrated=fitted is not None)


class _Names:
    """What was chosen, in words that stay the same from one set of numbers to the next."""

    def __init__(
        self,
        item_ref: str,
        rows: tuple[StudiedAnswer, ...],
        drawn: list[tuple[StudiedAnswer, Item]],
    ) -> None:
        self._written = item_ref not in all_families() and all(
            row.kind == Kind.ONE_CHOICE for row in rows
        )
        self._often = _often_offered(drawn)
        taken = Counter(row.misconception for row in rows if row.misconception)
        self._named = {
            idea for idea, count in taken.items() if count >= SELDOM * len(rows)
        } | self._often
        options = drawn[-1][1].options if drawn and self._written else ()
        self.right = frozenset(one.text for one in options if one.correct) or frozenset({RIGHT})
        self.offered = (
            frozenset(one.text for one in options)
            if options
            else frozenset(_idea_title(idea) for idea in self._often)
        )

    def of(self, row: StudiedAnswer) -> str:
        if row.correct:
            return next(iter(self.right)) if len(self.right) == 1 else RIGHT
        if self._written:
            return row.given_words
        if row.misconception in self._named:
            return _idea_title(str(row.misconception))
        return OTHER


def _often_offered(drawn: list[tuple[StudiedAnswer, Item]]) -> set[str]:
    offered = Counter(idea for _, item in drawn for idea in ideas_of(item))
    return {idea for idea, count in offered.items() if count >= OFTEN_OFFERED * len(drawn)}


def _idea_title(idea: str) -> str:
    known = all_misconceptions().get(idea)
    return known.title if known else idea


def _revision(row: StudiedAnswer, revisions: dict[int, str]) -> str:
    if row.sheet_revision_id is None:
        return f"version {row.item_version}"
    return revisions.get(row.sheet_revision_id, "a sheet")


def _by_numbers(drawn: list[tuple[StudiedAnswer, Item]]) -> tuple[NumberParts, ...]:
    found: dict[str, list[tuple[Given, bool]]] = {}
    for row, item in drawn:
        for name, given in item.givens.items():
            found.setdefault(name, []).append((given, row.correct))
    return tuple(
        parts
        for name, pairs in found.items()
        for parts in (_number_parts(name, pairs),)
        if len(pairs) >= FEWEST_NUMBERS and len(parts.parts) > 1
    )


def _number_parts(name: str, pairs: list[tuple[Given, bool]]) -> NumberParts:
    unit = pairs[0][0].unit
    if all(isinstance(given.value, int | float) for given, _ in pairs):
        values = [float(given.value) for given, _ in pairs]  # type: ignore[arg-type]
        return NumberParts(name, unit, by_number(values, [mark for _, mark in pairs], _plain))
    worded = sorted(((_words(given), mark) for given, mark in pairs), key=lambda pair: pair[0])
    parts = parts_of(worded)
    return NumberParts(name, unit, parts if len(parts) <= 8 else ())


def _words(given: Given) -> str:
    if isinstance(given.value, tuple):
        return "-".join(map(str, given.value))
    return str(given.value)


def _plain(value: float) -> str:
    return f"{value:.5g}".replace("-", "\N{MINUS SIGN}")


def _exposure(rows: tuple[StudiedAnswer, ...], now: datetime) -> Exposure:
    by_person = Counter(row.person_id for row in rows)
    return Exposure(
        sum(now - row.answered_at <= timedelta(days=7) for row in rows),
        sum(now - row.answered_at <= timedelta(days=30) for row in rows),
        len(by_person),
        max(by_person.values()),
    )
