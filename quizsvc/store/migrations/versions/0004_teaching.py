"""Teaching: ideas held, studies of items, calibration, tests on paper."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    _make_summaries()
    _make_calibrations()
    _make_paper()


def downgrade() -> None:
    for table in (
        *("printed_copy", "printed_item", "printed_test", "filter_fit", "calibration_run"),
        *("summary_mark", "item_study", "held_idea"),
    ):
        op.drop_table(table)


def _fk(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=op.f(f"fk_{table}_{column}"))


def _check(table: str, name: str, rule: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(rule, name=op.f(f"ck_{table}_{name}"))


def _make_summaries() -> None:
    op.create_table(
        "held_idea",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("idea", sa.String(120), nullable=False),
        sa.Column("shown", BIG, nullable=False),
        sa.Column("clear", BIG, nullable=False),
        sa.Column("first_at", TIME, nullable=False),
        sa.Column("last_at", TIME, nullable=False),
        sa.Column("cleared_at", TIME, nullable=True),
        _check("held_idea", "shown_from_one", "shown >= 1"),
        _check("held_idea", "clear_not_negative", "clear >= 0"),
        _fk("held_idea", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("person_id", "idea", name=op.f("pk_held_idea")),
    )
    op.create_table(
        "item_study",
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("item_ref", sa.String(120), nullable=False),
        sa.Column("topic", sa.String(40), nullable=False),
        sa.Column("answers", BIG, nullable=False),
        sa.Column("right_answers", BIG, nullable=False),
        sa.Column("link", sa.Double(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("studied_at", TIME, nullable=False),
        _check("item_study", "right_within_answers", "right_answers BETWEEN 0 AND answers"),
        _fk("item_study", "shop_id", "shop.id"),
        sa.PrimaryKeyConstraint("shop_id", "item_ref", name=op.f("pk_item_study")),
    )
    op.create_index(op.f("ix_item_study_shop_id_topic"), "item_study", ["shop_id", "topic"])
    op.create_table(
        "summary_mark",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("upto", BIG, nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_summary_mark")),
    )


def _make_calibrations() -> None:
    op.create_table(
        "calibration_run",
        sa.Column("id", BIG, nullable=False),
        sa.Column("stage", sa.String(40), nullable=False),
        sa.Column("upto", BIG, nullable=False),
        sa.Column("state", sa.Text(), nullable=False),
        sa.Column("begun_at", TIME, nullable=False),
        sa.Column("beat_at", TIME, nullable=False),
        sa.Column("ended_at", TIME, nullable=True),
        _check("calibration_run", "upto_not_negative", "upto >= 0"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calibration_run")),
    )
    op.create_table(
        "filter_fit",
        sa.Column("id", BIG, nullable=False),
        sa.Column("settings", sa.Text(), nullable=False),
        sa.Column("adopted", sa.Boolean(), nullable=False),
        sa.Column("loss_before", sa.Double(), nullable=False),
        sa.Column("loss_after", sa.Double(), nullable=False),
        sa.Column("answers", BIG, nullable=False),
        sa.Column("fitted_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_filter_fit")),
    )


def _make_paper() -> None:
    op.create_table(
        "printed_test",
        sa.Column("id", BIG, nullable=False),
        sa.Column("paper", sa.String(32), nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("assignment_id", BIG, nullable=True),
        sa.Column("maker_id", BIG, nullable=False),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("variants", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        _check("printed_test", "variants_by_letter", "variants BETWEEN 1 AND 26"),
        _fk("printed_test", "shop_id", "shop.id"),
        _fk("printed_test", "assignment_id", "assignment.id"),
        _fk("printed_test", "maker_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_printed_test")),
        sa.UniqueConstraint("paper", name=op.f("uq_printed_test_paper")),
    )
    op.create_index(op.f("ix_printed_test_shop_id_id"), "printed_test", ["shop_id", "id"])
    op.create_table(
        "printed_item",
        sa.Column("test_id", BIG, nullable=False),
        sa.Column("variant", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("item_ref", sa.String(120), nullable=False),
        sa.Column("item_version", BIG, nullable=False),
        sa.Column("level", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("sheet_revision_id", BIG, nullable=True),
        sa.Column("bank_item_version_id", BIG, nullable=True),
        sa.Column("seed", BIG, nullable=False),
        sa.Column("shown_hash", sa.String(64), nullable=False),
        _fk("printed_item", "test_id", "printed_test.id"),
        _fk("printed_item", "sheet_revision_id", "sheet_revision.id"),
        _fk("printed_item", "bank_item_version_id", "bank_item_version.id"),
        _fk("printed_item", "shown_hash", "shown_item.hash"),
        sa.PrimaryKeyConstraint("test_id", "variant", "number", name=op.f("pk_printed_item")),
    )
    op.create_table(
        "printed_copy",
        sa.Column("test_id", BIG, nullable=False),
        sa.Column("copy", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("variant", BIG, nullable=False),
        sa.Column("state", sa.String(40), nullable=True),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.Column("straightened", sa.LargeBinary(), nullable=True),
        sa.Column("read_at", TIME, nullable=True),
        sa.Column("counted_at", TIME, nullable=True),
        sa.Column("points", BIG, nullable=True),
        sa.Column("out_of", BIG, nullable=True),
        _check(
            "printed_copy",
            "known_state",
            "state IS NULL OR state IN ('to decide', 'read', 'counted')",
        ),
        _fk("printed_copy", "test_id", "printed_test.id"),
        _fk("printed_copy", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("test_id", "copy", name=op.f("pk_printed_copy")),
    )
    op.create_index(op.f("ix_printed_copy_person_id"), "printed_copy", ["person_id"])
