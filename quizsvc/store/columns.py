"""What all tables share: the declarative base, named constraints, and column types."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import Annotated, Any

from sqlalchemy import (
    BigInteger,
    DateTime,
    Dialect,
    ForeignKey,
    Integer,
    MetaData,
    String,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, mapped_column


class UtcTime(TypeDecorator[datetime]):
    """An aware time in UTC; a naive one is refused, since nobody could say what it means."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError(f"a time needs a zone: {value!r}")
        in_utc = value.astimezone(UTC)
        # SQLite keeps text without a zone; it is always UTC.
        return in_utc.replace(tzinfo=None) if dialect.name == "sqlite" else in_utc

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


BIG = BigInteger().with_variant(Integer(), "sqlite")  # SQLite numbers rows by INTEGER only

Key = Annotated[int, mapped_column(BIG, primary_key=True)]
UtcAt = Annotated[datetime, mapped_column(UtcTime())]
Slug = Annotated[str, mapped_column(String(120))]
Name = Annotated[str, mapped_column(String(200))]
Body = Annotated[str, mapped_column(Text())]
Hash = Annotated[str, mapped_column(String(64))]
Word = Annotated[str, mapped_column(String(40))]

ShopKey = Annotated[int, mapped_column(ForeignKey("shop.id"))]
PersonKey = Annotated[int, mapped_column(ForeignKey("person.id"))]


class Base(DeclarativeBase):
    metadata = MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
        }
    )
    type_annotation_map: dict[Any, Any] = {datetime: UtcTime(), str: Text(), int: BIG}  # noqa: RUF012 - SQLAlchemy's name


def one_of(column: str, states: type[StrEnum]) -> str:
    """Return the SQL that holds a column to the states of an enum."""
    listed = ", ".join(f"'{state.value}'" for state in states)
    return f"{column} IN ({listed})"
