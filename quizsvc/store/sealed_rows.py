"""What lies in the database sealed under the installation's secret, in all tables that have it."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, select, update
from sqlalchemy.orm import InstrumentedAttribute

from quizsvc.store.second_factors import SecondFactor
from quizsvc.store.signing_keys import IssuerKey

_Tables = type[IssuerKey] | type[SecondFactor]
_Column = InstrumentedAttribute[int]
_TABLES: dict[str, tuple[_Tables, _Column, _Column]] = {
    "signing keys": (IssuerKey, IssuerKey.id, IssuerKey.shop_id),
    "second factors": (SecondFactor, SecondFactor.person_id, SecondFactor.person_id),
}


@dataclass(frozen=True, slots=True)
class SealedRow:
    """``purpose`` names the table, ``key`` the row, ``owner_id`` whose it is."""

    purpose: str
    key: int
    owner_id: int
    sealed: str


def sealed_rows(connection: Connection) -> tuple[SealedRow, ...]:
    return tuple(
        SealedRow(purpose, *row)
        for purpose, (table, key, owner) in _TABLES.items()
        for row in connection.execute(select(key, owner, table.sealed).order_by(key)).all()
    )


def put_sealed(connection: Connection, row: SealedRow, sealed: str) -> None:
    table, key, _ = _TABLES[row.purpose]
    connection.execute(update(table).where(key == row.key).values(sealed=sealed))
