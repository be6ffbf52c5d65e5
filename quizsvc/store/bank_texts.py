"""Banks as their authors wrote them: the opening of the file, and the TOML of every version.

A file put together from its opening and its items is the file that was read, comments and all.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import Connection, ForeignKey, delete, insert, select
from sqlalchemy.orm import Mapped, mapped_column

from quizsvc.store.banks import Bank, BankItem, BankItemVersion
from quizsvc.store.columns import Base, Body, Slug


class BankHead(Base):
    """What stands before the items of a bank, and what it says to all of them."""

    __tablename__ = "bank_head"

    bank_id: Mapped[Slug] = mapped_column(ForeignKey("bank.id"), primary_key=True)
    text: Mapped[Body]  # TOML, whatever stands before the first item
    stated: Mapped[Body]  # the bank without its items, as JSON


class ItemText(Base):
    """The TOML of one version, with the comments around it."""

    __tablename__ = "item_text"

    version_id: Mapped[int] = mapped_column(ForeignKey("bank_item_version.id"), primary_key=True)
    text: Mapped[Body]


@dataclass(frozen=True, slots=True)
class KeptBank:
    id: str
    title: str
    shop_id: int | None
    text: str | None
    stated: str | None


@dataclass(frozen=True, slots=True)
class KeptText:
    """One version of an item, with its TOML where it was kept."""

    entry: str
    version: int
    state: str
    current: bool
    content: str
    text: str | None


_BANK = select(Bank.id, Bank.title, Bank.shop_id, BankHead.text, BankHead.stated).outerjoin(
    BankHead, BankHead.bank_id == Bank.id
)


def keep_head(connection: Connection, bank_id: str, *, text: str, stated: str) -> None:
    """Store the opening of a bank in place of the one before."""
    connection.execute(delete(BankHead).where(BankHead.bank_id == bank_id))
    connection.execute(insert(BankHead).values(bank_id=bank_id, text=text, stated=stated))


def keep_texts(connection: Connection, texts: Iterable[tuple[int, str]]) -> None:
    """Store the TOML of versions that have none yet."""
    rows = [{"version_id": version_id, "text": text} for version_id, text in texts]
    if rows:
        connection.execute(insert(ItemText), rows)


def text_of(connection: Connection, version_id: int) -> str | None:
    return connection.scalar(select(ItemText.text).where(ItemText.version_id == version_id))


def versions_without_text(connection: Connection, bank_id: str) -> dict[tuple[str, int], int]:
    """Return the keys of versions whose TOML was not kept, by entry and version."""
    rows = connection.execute(
        select(BankItem.entry, BankItemVersion.version, BankItemVersion.id)
        .join(BankItem, BankItem.id == BankItemVersion.item_id)
        .outerjoin(ItemText, ItemText.version_id == BankItemVersion.id)
        .where(BankItem.bank_id == bank_id, ItemText.version_id.is_(None))
    ).all()
    return {(row[0], row[1]): row[2] for row in rows}


def bank_of(connection: Connection, bank_id: str) -> KeptBank | None:
    row = connection.execute(_BANK.where(Bank.id == bank_id)).first()
    return KeptBank(*row) if row else None


def banks_for(connection: Connection, shop_id: int) -> tuple[KeptBank, ...]:
    """Return the shop's own banks and the shared ones, by title."""
    rows = connection.execute(
        _BANK.where((Bank.shop_id == shop_id) | Bank.shop_id.is_(None)).order_by(Bank.title)
    ).all()
    return tuple(KeptBank(*row) for row in rows)


def texts_of_bank(connection: Connection, bank_id: str) -> tuple[KeptText, ...]:
    """Return every version of the bank's items, items in their order, oldest version first."""
    rows = connection.execute(
        select(
            BankItem.entry,
            BankItemVersion.version,
            BankItemVersion.state,
            BankItemVersion.current,
            BankItemVersion.content,
            ItemText.text,
        )
        .join(BankItem, BankItem.id == BankItemVersion.item_id)
        .outerjoin(ItemText, ItemText.version_id == BankItemVersion.id)
        .where(BankItem.bank_id == bank_id)
        .order_by(BankItem.id, BankItemVersion.version)
    ).all()
    return tuple(KeptText(*row) for row in rows)
