"""A second factor at sign-in: its sealed secret, recovery codes, half a sign-in, who is asked."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
TABLES = ("second_factor", "recovery_code", "half_signed_in", "second_factor_asked")


def upgrade() -> None:
    _make_factors()
    _make_halves()
    _make_rule()


def downgrade() -> None:
    for table in reversed(TABLES):
        op.drop_table(table)


def _fk(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=op.f(f"fk_{table}_{column}"))


def _make_factors() -> None:
    op.create_table(
        "second_factor",
        sa.Column("person_id", BIG, autoincrement=False, nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.Column("begun_at", TIME, nullable=False),
        sa.Column("on_since", TIME, nullable=True),
        sa.Column("last_step", BIG, nullable=True),
        sa.Column("salt", sa.String(40), nullable=True),
        sa.CheckConstraint(
            "on_since IS NULL OR (last_step IS NOT NULL AND salt IS NOT NULL)",
            name=op.f("ck_second_factor_whole_when_on"),
        ),
        _fk("second_factor", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("person_id", name=op.f("pk_second_factor")),
    )
    op.create_table(
        "recovery_code",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("code_hash", sa.String(64), nullable=False),
        sa.Column("used_at", TIME, nullable=True),
        _fk("recovery_code", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("person_id", "code_hash", name=op.f("pk_recovery_code")),
    )


def _make_halves() -> None:
    op.create_table(
        "half_signed_in",
        sa.Column("token_hash", sa.String(64), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("ends_at", TIME, nullable=False),
        sa.CheckConstraint("ends_at > made_at", name=op.f("ck_half_signed_in_ends_after_it_began")),
        _fk("half_signed_in", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_half_signed_in")),
    )
    op.create_index(op.f("ix_half_signed_in_person_id"), "half_signed_in", ["person_id"])
    op.create_index(op.f("ix_half_signed_in_ends_at"), "half_signed_in", ["ends_at"])


def _make_rule() -> None:
    op.create_table(
        "second_factor_asked",
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("role", sa.String(40), nullable=False),
        sa.CheckConstraint(
            "role IN ('learner', 'instructor', 'manager', 'administrator')",
            name=op.f("ck_second_factor_asked_known_role"),
        ),
        _fk("second_factor_asked", "shop_id", "shop.id"),
        sa.PrimaryKeyConstraint("shop_id", "role", name=op.f("pk_second_factor_asked")),
    )
