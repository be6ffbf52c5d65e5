"""Item analysis as instructors read it: all items of a shop, and one item in full."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from quizsvc.errors import NotFoundError
from quizsvc.figures.plots import item_information, item_map, option_curves, share_bars
from quizsvc.figures.plots.item_information import ItemCurve
from quizsvc.figures.plots.item_map import ItemDot, ItemMap
from quizsvc.figures.plots.option_curves import OptionCurve, OptionCurves
from quizsvc.figures.plots.share_bars import Share, ShareBars
from quizsvc.figures.scene import Scene
from quizsvc.items.family import all_families
from quizsvc.items.topics import TOPICS, find_topic
from quizsvc.rules.actors import Actor
from quizsvc.rules.permissions import May, require
from quizsvc.scoring.item_flags import ENOUGH_ANSWERS
from quizsvc.scoring.item_study import Part
from quizsvc.services import item_words
from quizsvc.services.house import House
from quizsvc.services.item_titles import item_title
from quizsvc.services.item_words import Told
from quizsvc.services.kept_studies import KeptStudy, NumberParts, study_from
from quizsvc.services.teach_again import OddItem, odd_items
from quizsvc.store import studies

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MOST_CURVES = 8


@dataclass(frozen=True, slots=True)
class ItemLine:
    """A studied item in the list; ``number`` is that of its dot, for one that stands out."""

    item_ref: str
    title: str
    topic_title: str
    answers: int
    share: float
    link: float
    flags: tuple[str, ...]
    number: int

    @property
    def enough(self) -> bool:
        """Whether there are answers enough to judge it by."""
        return self.answers >= ENOUGH_ANSWERS


@dataclass(frozen=True, slots=True)
class ItemList:
    lines: tuple[ItemLine, ...]
    topics: tuple[tuple[str, str], ...]
    topic: str
    odd: tuple[OddItem, ...]
    picture: Scene | None
    says: Told
    studied_at: datetime | None


@dataclass(frozen=True, slots=True)
class NumberPlot:
    name: str
    picture: Scene
    says: Told


@dataclass(frozen=True, slots=True)
class ItemPage:
    """One item in full: each figure with a sentence that says what it means and what to do."""

    item_ref: str
    title: str
    topic_title: str
    is_family: bool
    study: KeptStudy
    options: tuple[tuple[str, str, bool, float, float], ...]  # letter, words, right, share, link
    option_picture: Scene | None
    curve_picture: Scene
    revision_picture: Scene | None
    numbers: tuple[NumberPlot, ...]
    told: item_words.ItemTold
    studied_at: datetime
    enough: bool


def item_list(house: House, actor: Actor, *, topic: str = "") -> ItemList:
    """Return the studied items of the shop, those that stand out first."""
    require(actor, May.SEE_CLASS_RECORDS)
    wanted = find_topic(topic).id if topic else ""
    with house.read_for_report() as connection:
        rows = [
            row
            for row in studies.studies_of(connection, actor.shop_id)
            if not wanted or row.topic == wanted
        ]
    odd = odd_items(row for row in rows if row.flags)
    numbers = {one.item_ref: number for number, one in enumerate(odd, 1)}
    lines = tuple(
        ItemLine(
            row.item_ref,
            item_title(row.item_ref),
            find_topic(row.topic).title,
            row.answers,
            row.right_answers / row.answers,
            row.link,
            row.flags,
            numbers.get(row.item_ref, 0),
        )
        for row in sorted(rows, key=lambda row: (numbers.get(row.item_ref, 999), -row.answers))
    )
    dots = tuple(
        ItemDot(one.share, one.link, one.number if one.number <= 20 else 0)
        for one in lines
        if one.enough
    )
    return ItemList(
        lines,
        tuple((one.id, one.title) for one in TOPICS),
        wanted,
        odd,
        item_map.draw(ItemMap(dots)) if dots else None,
        item_words.of_map(len(dots), len(odd)),
        max((row.studied_at for row in rows), default=None),
    )


def item_page(house: House, actor: Actor, item_ref: str) -> ItemPage:
    """Return all that is known of one item in the shop.

    Raises:
        NotFoundError: nobody answered it here, or it was not studied yet.
    """
    require(actor, May.SEE_CLASS_RECORDS)
    with house.read_for_report() as connection:
        row = studies.study_row(connection, actor.shop_id, item_ref)
        body = studies.body_of(connection, actor.shop_id, item_ref)
    if row is None or body is None:
        raise NotFoundError(
            "nothing is known of such an item here.",
            field="item",
            value=item_ref[:80],
            remedy="Choose one of the list; answers of the last minutes are not in it yet.",
        )
    kept = study_from(body)
    curves = _lettered(kept)
    return ItemPage(
        item_ref,
        item_title(item_ref),
        find_topic(row.topic).title,
        item_ref in all_families(),
        kept,
        tuple(
            (letter, words, one.correct, share, link)
            for letter, (words, one, share, link) in curves.items()
        ),
        option_curves.draw(OptionCurves(tuple(one for _, one, _, _ in curves.values())))
        if kept.studied.answers >= ENOUGH_ANSWERS
        else None,
        item_information.draw(
            ItemCurve(kept.fitted.slope, kept.fitted.difficulty, kept.fitted.guessing)
        ),
        _bars(kept.studied.revisions) if len(kept.studied.revisions) > 1 else None,
        tuple(_number_plot(one) for one in kept.numbers if one.parts),
        item_words.of_item(kept),
        row.studied_at,
        kept.studied.answers >= ENOUGH_ANSWERS,
    )


def _lettered(kept: KeptStudy) -> dict[str, tuple[str, OptionCurve, float, float]]:
    """Return words, curve, share and link of each option by letter: right first, then by share."""
    ranked = sorted(kept.studied.curves, key=lambda one: (not one.correct, -one.total_share))
    return {
        letter: (
            one.option,
            OptionCurve(letter, one.correct, one.shares),
            one.total_share,
            one.point_biserial,
        )
        for letter, one in zip(LETTERS, ranked[:MOST_CURVES], strict=False)
    }


def _number_plot(one: NumberParts) -> NumberPlot:
    return NumberPlot(one.name, _bars(one.parts), item_words.of_numbers(one))


def _bars(parts: tuple[Part, ...]) -> Scene:
    return share_bars.draw(
        ShareBars(
            tuple(
                Share(one.label, one.share, one.interval.low, one.interval.high, one.answers)
                for one in parts
            )
        )
    )
