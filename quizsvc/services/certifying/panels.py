"""Set a scheme's cut score with a panel: judges estimate, the program computes, a person approves.

The judges look at a reference form: built from the blueprint like every candidate's. Their mean is
a share of its questions; the ability that belongs to it carries the cut over to other forms.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection

from quizsvc.errors import ConflictError, InputError
from quizsvc.items.markdown import plain_words
from quizsvc.items.model import Item, Kind, Level
from quizsvc.rules.actors import Actor
from quizsvc.rules.audit import Action
from quizsvc.rules.permissions import POLICY, May, require
from quizsvc.rules.schemes import VersionState
from quizsvc.scoring.form_difficulty import ability_at_cut
from quizsvc.scoring.standard_setting import PanelResult, angoff_panel
from quizsvc.services.assigning.question_pool import Pick
from quizsvc.services.auditing import note
from quizsvc.services.certifying import form_building
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.form_pool import parameters_of, pool_entries
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.services.recipes import draw
from quizsvc.store import panels, people_pages, schemes
from quizsvc.store.panels import Judge, StoredPanel

FEWEST_JUDGES, MOST_JUDGES = 2, 30


class CutChoice(StrEnum):
    MEAN = "mean"
    ADJUSTED = "one standard error below the mean"


@dataclass(frozen=True, slots=True)
class PanelPage:
    """Where a panel stands. The result shows once every judge has finished, not before."""

    held: Held
    judges: tuple[Judge, ...]
    questions: int
    result: PanelResult | None
    closed: bool
    is_judge: bool
    prompts: tuple[str, ...]


def open_panel(
    house: House, actor: Actor, version_id: int, judge_ids: frozenset[int], *, now: datetime
) -> None:
    """Build the reference form and ask judges for their estimates.

    Raises:
        InputError: too few judges, or the blueprint cannot be met.
        ConflictError: it has a panel, or is no draft.
    """
    require(actor, May.KEEP_SCHEMES)
    if not FEWEST_JUDGES <= len(judge_ids) <= MOST_JUDGES:
        raise InputError(
            "a panel needs more judges than that."
            if len(judge_ids) < FEWEST_JUDGES
            else "too many.",
            field="judges",
            value=len(judge_ids),
            remedy=f"Choose {FEWEST_JUDGES} to {MOST_JUDGES}; practice is five to ten or more.",
        )
    with house.read() as connection:
        held = scheme_service.find(connection, actor, version_id)
        _check_judges(connection, actor, judge_ids)
        entries = pool_entries(connection, house.shelf, held, now=now)
        seed = house.seeds()
        built = form_building.build(connection, house, held, entries, seed=seed, barred=frozenset())
    questions = [entry.pick.columns(place) for place, entry in enumerate(built.entries, 1)]
    text = json.dumps({"seed": seed, "questions": questions})
    with house.write() as connection:
        held = scheme_service.find(connection, actor, version_id, lock=True)
        if held.state is not VersionState.DRAFT or panels.panel_of(connection, version_id):
            raise ConflictError(
                "this version has had its panel.",
                field="scheme",
                value=held.terms.title,
                remedy="Make a new version to judge anew.",
            )
        panels.add_panel(
            connection, version_id, text, judge_ids, opened_by=actor.person_id, now=now
        )
        note(
            connection,
            actor,
            Action.PANEL_OPENED,
            f"scheme {held.stored.scheme_id}",
            now=now,
            version=held.stored.version,
            judges=sorted(judge_ids),
            questions=len(questions),
        )


def panel_page(house: House, actor: Actor, version_id: int) -> PanelPage | None:
    """Return the panel of a version, None while it has none."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        held = scheme_service.find(connection, actor, version_id)
        panel = panels.panel_of(connection, version_id)
        if panel is None:
            return None
        judges = panels.judges_of(connection, panel.id)
        done = all(judge.finished_at for judge in judges)
        estimates = panels.estimates_of(connection, panel.id) if done else {}
        items = items_of_panel(connection, house, panel) if done else []
    return PanelPage(
        held,
        judges,
        len(rows_of_panel(panel)),
        _result(estimates, len(rows_of_panel(panel))) if done else None,
        panel.closed_at is not None,
        any(judge.person_id == actor.person_id for judge in judges),
        tuple(plain_words(item.prompt) for item in items),
    )


def approve_cut(
    house: House, actor: Actor, version_id: int, choice: CutChoice, reason: str, *, now: datetime
) -> None:
    """Approve the panel's cut; whoever made the version does not.

    Raises:
        ConflictError: not every judge has finished, or the cut is approved.
        NotAllowedError: the actor made the version.
    """
    require(actor, May.KEEP_SCHEMES)
    with house.write() as connection:
        held = scheme_service.find(connection, actor, version_id, lock=True)
        scheme_service.require_other_than_maker(actor, held, "approve the cut of")
        panel = panels.panel_of(connection, version_id, lock=True)
        judges = panels.judges_of(connection, panel.id) if panel else ()
        if panel is None or panel.closed_at or not all(one.finished_at for one in judges):
            raise ConflictError(
                "there is no finished panel to approve.",
                field="panel",
                value=held.terms.title,
                remedy="Wait until every judge has finished.",
            )
        items = [_pick(row) for row in rows_of_panel(panel)]
        result = _result(panels.estimates_of(connection, panel.id), len(items))
        share = (result.cut if choice is CutChoice.MEAN else result.adjusted_cut) / result.items
        ability = ability_at_cut([parameters_of(connection, one) for one in items], share)
        record = asdict(result) | {
            "choice": choice.value,
            "reason": " ".join(reason.split())[:500],
            "ability": ability,
            "share": share,
        }
        panels.close_panel(connection, panel.id, now=now)
        schemes.change_version(
            connection,
            version_id,
            cut_share=share,
            cut_record=json.dumps(record, ensure_ascii=False),
            cut_approved_by=actor.person_id,
            cut_approved_at=now,
        )
        note(
            connection,
            actor,
            Action.CUT_APPROVED,
            f"scheme {held.stored.scheme_id}",
            now=now,
            version=held.stored.version,
            share=round(share, 6),
            choice=choice.value,
        )


def cut_record(held: Held) -> dict[str, Any] | None:
    """Return the record of an approved cut."""
    return json.loads(held.stored.cut_record) if held.stored.cut_record else None


def _result(estimates: dict[int, dict[int, float]], questions: int) -> PanelResult:
    matrix = [
        [chances[place] for place in range(1, questions + 1)]
        for _, chances in sorted(estimates.items())
    ]
    return angoff_panel(matrix)


def _check_judges(connection: Connection, actor: Actor, judge_ids: frozenset[int]) -> None:
    staff = {
        one.id
        for one in people_pages.people_of(connection, actor.shop_id)
        if one.active and not one.roles.isdisjoint(POLICY[May.JUDGE])
    }
    if strangers := judge_ids - staff:
        raise InputError(
            "not everybody chosen can judge here.",
            field="judges",
            value=min(strangers),
            remedy="Choose instructors and managers of this shop.",
        )


def rows_of_panel(panel: StoredPanel) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = json.loads(panel.questions)["questions"]
    return rows


def items_of_panel(connection: Connection, house: House, panel: StoredPanel) -> list[Item]:
    seed = json.loads(panel.questions)["seed"]
    return [draw(house.shelf, connection, _pick(row).recipe(seed)) for row in rows_of_panel(panel)]


def _pick(row: Mapping[str, Any]) -> Pick:
    columns = {name: value for name, value in row.items() if name != "place"}
    return Pick(**(columns | {"level": Level(row["level"]), "kind": Kind(row["kind"])}))
