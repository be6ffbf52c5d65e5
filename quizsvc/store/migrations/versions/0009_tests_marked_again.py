"""Finished tests marked again, decisions left standing since, and answers found by their sheet."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
NEVER_CHANGED = ("sitting_remark", "sitting_mark")


def upgrade() -> None:
    op.create_index(op.f("ix_offer_sheet_revision_id"), "offer", ["sheet_revision_id"])
    _make_remarks()
    _make_upheld()
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in NEVER_CHANGED:
        _guard(table, sqlite)


def downgrade() -> None:
    for table in ("upheld_decision", "sitting_mark", "sitting_remark"):
        op.drop_table(table)
    op.drop_index(op.f("ix_offer_sheet_revision_id"), table_name="offer")


def _guard(table: str, sqlite: bool) -> None:
    if not sqlite:
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        return
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} rows are never changed'); END"
        )


def _fk(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=op.f(f"fk_{table}_{column}"))


def _make_remarks() -> None:
    op.create_table(
        "sitting_remark",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("item_id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("remedy", sa.String(40), nullable=False),
        sa.Column("made_by", BIG, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint(
            "remedy IN ('marked again', 'void')", name=op.f("ck_sitting_remark_known_remedy")
        ),
        _fk("sitting_remark", "shop_id", "shop.id"),
        _fk("sitting_remark", "item_id", "bank_item.id"),
        _fk("sitting_remark", "version_id", "bank_item_version.id"),
        _fk("sitting_remark", "made_by", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sitting_remark")),
    )
    op.create_index(op.f("ix_sitting_remark_item_id"), "sitting_remark", ["item_id"])
    op.create_table(
        "sitting_mark",
        sa.Column("remark_id", BIG, nullable=False),
        sa.Column("sitting_id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("correct", sa.Boolean(), nullable=True),
        sa.Column("credit", sa.Double(), nullable=True),
        sa.Column("misconception", sa.String(120), nullable=True),
        sa.Column("right_words", sa.Text(), nullable=True),
        sa.Column("points_before", BIG, nullable=False),
        sa.Column("out_of_before", BIG, nullable=False),
        sa.Column("points", BIG, nullable=False),
        sa.Column("out_of", BIG, nullable=False),
        sa.CheckConstraint(
            "(correct IS NULL) = (credit IS NULL) AND (correct IS NULL) = (right_words IS NULL)",
            name=op.f("ck_sitting_mark_whole_or_none"),
        ),
        sa.CheckConstraint(
            "credit IS NULL OR credit BETWEEN 0 AND 1",
            name=op.f("ck_sitting_mark_credit_from_0_to_1"),
        ),
        sa.CheckConstraint(
            "points_before BETWEEN 0 AND out_of_before AND points BETWEEN 0 AND out_of",
            name=op.f("ck_sitting_mark_points_within"),
        ),
        _fk("sitting_mark", "remark_id", "sitting_remark.id"),
        _fk("sitting_mark", "sitting_id", "sitting.id"),
        _fk("sitting_mark", "person_id", "person.id"),
        sa.PrimaryKeyConstraint(
            "remark_id", "sitting_id", "number", name=op.f("pk_sitting_mark")
        ),
    )
    op.create_index(op.f("ix_sitting_mark_sitting_id"), "sitting_mark", ["sitting_id"])
    op.create_index(op.f("ix_sitting_mark_person_id"), "sitting_mark", ["person_id"])


def _make_upheld() -> None:
    op.create_table(
        "upheld_decision",
        sa.Column("id", BIG, nullable=False),
        sa.Column("decision_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("points", BIG, nullable=False),
        sa.Column("out_of", BIG, nullable=False),
        sa.Column("upheld_by", BIG, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint(
            "upheld_by <> person_id", name=op.f("ck_upheld_decision_nobody_upholds_their_own")
        ),
        sa.CheckConstraint(
            "points BETWEEN 0 AND out_of", name=op.f("ck_upheld_decision_points_within")
        ),
        _fk("upheld_decision", "decision_id", "decision.id"),
        _fk("upheld_decision", "person_id", "person.id"),
        _fk("upheld_decision", "upheld_by", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_upheld_decision")),
    )
    op.create_index(op.f("ix_upheld_decision_decision_id"), "upheld_decision", ["decision_id"])
