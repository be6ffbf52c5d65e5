"""The shop: its jobs, shifts, revisions read, bridging quizzes and the team week by week."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
TABLES = ("shop_job", "shift_place", "read_revision", "bridging_quiz", "team_week")


def upgrade() -> None:
    _make_jobs()
    _make_readings()
    _make_weeks()


def downgrade() -> None:
    for table in reversed(TABLES):
        op.drop_table(table)


def _fk(table: str, column: str, target: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], [target], name=op.f(f"fk_{table}_{column}"))


def _make_jobs() -> None:
    op.create_table(
        "shop_job",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("title", sa.String(200), nullable=False),
        sa.Column("about", sa.Text(), nullable=False),
        sa.Column("needs", sa.Text(), nullable=False),
        sa.Column("made_by", BIG, nullable=True),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("ended_at", TIME, nullable=True),
        _fk("shop_job", "shop_id", "shop.id"),
        _fk("shop_job", "made_by", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop_job")),
        sa.UniqueConstraint("shop_id", "title", name=op.f("uq_shop_job_shop_id_title")),
    )
    op.create_table(
        "shift_place",
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shift", sa.String(40), nullable=False),
        _fk("shift_place", "shop_id", "shop.id"),
        _fk("shift_place", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("shop_id", "person_id", name=op.f("pk_shift_place")),
    )


def _make_readings() -> None:
    op.create_table(
        "read_revision",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("revision_id", BIG, nullable=False),
        sa.Column("read_at", TIME, nullable=False),
        _fk("read_revision", "person_id", "person.id"),
        _fk("read_revision", "revision_id", "sheet_revision.id"),
        sa.PrimaryKeyConstraint("person_id", "revision_id", name=op.f("pk_read_revision")),
    )
    op.create_index(op.f("ix_read_revision_revision_id"), "read_revision", ["revision_id"])
    op.create_table(
        "bridging_quiz",
        sa.Column("assignment_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("sheet_id", sa.String(120), nullable=True),
        sa.Column("item_ref", sa.String(120), nullable=True),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("ordered_by", BIG, nullable=False),
        sa.Column("ordered_at", TIME, nullable=False),
        sa.CheckConstraint(
            "(sheet_id IS NULL) <> (item_ref IS NULL)",
            name=op.f("ck_bridging_quiz_one_cause"),
        ),
        _fk("bridging_quiz", "assignment_id", "assignment.id"),
        _fk("bridging_quiz", "shop_id", "shop.id"),
        _fk("bridging_quiz", "sheet_id", "sheet.id"),
        _fk("bridging_quiz", "ordered_by", "person.id"),
        sa.PrimaryKeyConstraint("assignment_id", name=op.f("pk_bridging_quiz")),
    )
    op.create_index(op.f("ix_bridging_quiz_shop_id"), "bridging_quiz", ["shop_id"])


def _make_weeks() -> None:
    op.create_table(
        "team_week",
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("week_end", TIME, nullable=False),
        sa.Column("topic", sa.String(40), nullable=False),
        sa.Column("people", BIG, nullable=False),
        sa.Column("above", BIG, nullable=False),
        sa.Column("chance", sa.Double(), nullable=False),
        sa.CheckConstraint("above BETWEEN 0 AND people", name=op.f("ck_team_week_above_within")),
        _fk("team_week", "shop_id", "shop.id"),
        sa.PrimaryKeyConstraint("shop_id", "week_end", "topic", name=op.f("pk_team_week")),
    )
