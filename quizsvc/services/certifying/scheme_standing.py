"""How a scheme stands against what measurement standards ask."""

from __future__ import annotations

from quizsvc.rules.actors import Actor
from quizsvc.rules.certifying import DecisionState
from quizsvc.rules.permissions import May, require
from quizsvc.rules.scheme_standards import Point, SchemeFacts, standards_met
from quizsvc.scoring.decision_report import GroupConsistency, group_consistency
from quizsvc.services.certifying import schemes as scheme_service
from quizsvc.services.certifying.schemes import Held
from quizsvc.services.house import House
from quizsvc.store import decisions, panels


def standards(
    house: House, actor: Actor, version_id: int
) -> tuple[Held, tuple[Point, ...], GroupConsistency | None]:
    """Return a version with every point, and how consistently its cut has decided so far."""
    require(actor, May.SEE_CERTIFICATION)
    with house.read() as connection:
        held = scheme_service.find(connection, actor, version_id)
        panel = panels.panel_of(connection, version_id)
        judges = panels.judges_of(connection, panel.id) if panel else ()
        decided = [
            one
            for one in decisions.decisions_of(connection, scheme_id=held.stored.scheme_id)
            if one.version_id == version_id and one.state is DecisionState.DECIDED
        ]
    totals = [one.points for one in decided if one.out_of == held.terms.counted]
    consistency = group_consistency(totals, held.terms.counted, held.stored.cut_share or 0.0)
    facts = SchemeFacts(
        sum(1 for judge in judges if judge.finished_at),
        held.stored.cut_share is not None,
        len(decided),
        consistency is not None,
    )
    return held, standards_met(held.terms, facts), consistency
