"""What answers marked again since change in counts of first marks.

Counts over millions of answers read the first marks; to them are added these few differences,
found through the remarks themselves, so that the long table is not joined with anything.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Select, and_, case, func, select
from sqlalchemy.orm import aliased
from sqlalchemy.sql.elements import SQLCoreOperations

from quizsvc.store.offers import Response
from quizsvc.store.remarks import Remark, RemarkedResponse


@dataclass(frozen=True, slots=True)
class Correction:
    """How many answers no longer count (0 or less), and how many more of them are right."""

    answers: int = 0
    right: int = 0


NONE = Correction()
_LATER = aliased(RemarkedResponse)
_SUPERSEDED = (
    select(_LATER.remark_id)
    .where(
        _LATER.response_id == RemarkedResponse.response_id,
        _LATER.remark_id > RemarkedResponse.remark_id,
    )
    .exists()
)
_COUNTS_RIGHT = and_(RemarkedResponse.counted, RemarkedResponse.correct)
ANSWERS = func.sum(case((RemarkedResponse.counted, 0), else_=-1))
RIGHT = func.sum(case((_COUNTS_RIGHT, 1), else_=0) - case((Response.correct, 1), else_=0))


def differences(*by: SQLCoreOperations[Any]) -> Select[Any]:
    """Return the statement of the differences, one row a group: the group, answers, right ones.

    To be narrowed by what is few: the person of a `RemarkedResponse` or the item of a `Remark`.
    Narrowed or grouped by an indexed column of `Response`, SQLite would begin with all answers.
    """
    return (
        select(*by, ANSWERS.label("answers"), RIGHT.label("right_ones"))
        .select_from(RemarkedResponse)
        .join(Remark, Remark.id == RemarkedResponse.remark_id)
        .join(Response, Response.id == RemarkedResponse.response_id)
        .where(~_SUPERSEDED)
        .group_by(*by)
    )


def corrections(
    connection: Connection, statement: Select[Any]
) -> Mapping[tuple[Any, ...], Correction]:
    """Return by group what was marked again; ``statement`` is `differences` narrowed down."""
    rows: Iterable[Any] = connection.execute(statement)
    return {tuple(row)[:-2]: Correction(int(row[-2]), int(row[-1])) for row in rows}
