"""Write a log of answers straight into the tables: true levels and difficulties, by a seed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from sqlalchemy import insert, select
from workshop import NOON, Workshop

from quizsvc.items.family import all_families
from quizsvc.scoring.competence import ItemParameters
from quizsvc.services.replay import Counted, replay
from quizsvc.store import competence, offers, people
from quizsvc.store.offers import Offer, Response
from quizsvc.store.sheets import SheetRevision


@dataclass(frozen=True)
class Log:
    people: tuple[int, ...]
    items: tuple[str, ...]
    difficulties: tuple[float, ...]


def fill_log(workshop: Workshop, *, people: int, items: int, seed: int) -> Log:
    """Let invented people answer each item once, as numbers typed in, in an order of their own."""
    chance = np.random.default_rng(seed)
    families = tuple(all_families().values())[:: max(1, len(all_families()) // items)][:items]
    b, a = chance.normal(0, 1.2, items), chance.lognormal(0, 0.2, items)
    levels = chance.normal(0, 1.3, people)
    keys = []
    with workshop.house.write() as connection:
        revision = connection.scalar(select(SheetRevision.id))
        for n in range(people):
            keys.append(_person(connection, n))
            _answers(connection, workshop, keys[-1], revision, families, levels[n], a, b, chance)
    return Log(tuple(keys), tuple(one.id for one in families), tuple(b.tolist()))


def _person(connection, n):
    return people.add_person(
        connection, f"Invented {n}", sign_in_name=f"log{n}", password_hash="-", now=NOON
    )


def _answers(connection, workshop, person, revision, families, level, a, b, chance):
    counted, start = [], NOON - timedelta(days=30)
    rows, answers = [], []
    for nth, n in enumerate(chance.permutation(len(families)), 1):
        right = bool(chance.random() < 1 / (1 + np.exp(-a[n] * (level - b[n]))))
        at = start + timedelta(hours=nth)
        counted.append(Counted(families[n].topic, ItemParameters(), right, at))
        rows.append(
            {
                "token": f"{person:016x}{nth:016x}",
                "person_id": person,
                "shop_id": workshop.shop_id,
                "purpose": offers.Purpose.PRACTICE.value,
                "topic": families[n].topic,
                "item_ref": families[n].id,
                "item_version": families[n].version,
                "level": "apply",
                "kind": "number",
                "sheet_revision_id": revision,
                "seed": nth,
                "item_hash": "-",
                "why": "",
                "made_at": at,
            }
        )
        answers.append((families[n], right, at))
    ids = list(connection.scalars(insert(Offer).returning(Offer.id), rows))
    connection.execute(
        insert(Response),
        [
            _response(workshop, person, offer, family, right, at)
            for offer, (family, right, at) in zip(ids, answers, strict=True)
        ],
    )
    known = replay(counted)
    competence.replace_all(connection, person, known.general, tuple(known.topics.values()))


def _response(workshop, person, offer, family, right, at):
    return {
        "offer_id": offer,
        "person_id": person,
        "shop_id": workshop.shop_id,
        "topic": family.topic,
        "item_ref": family.id,
        "correct": right,
        "credit": float(right),
        "given": "{}",
        "given_words": "",
        "right_words": "",
        "nth": 1,
        "mean_before": 0.0,
        "variance_before": 1.5,
        "mean_after": 0.0,
        "variance_after": 1.5,
        "answered_at": at,
    }
