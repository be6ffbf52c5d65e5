"""The classroom: assignments, sittings with the items as shown, invitations, calendar feeds."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.create_table(
        "kept_picture",
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("media_type", sa.String(length=40), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_kept_picture")),
    )
    op.create_table(
        "steady_time",
        sa.Column("boot", sa.String(length=64), nullable=False),
        sa.Column("offset_us", BIG, nullable=False),
        sa.Column("laid_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("boot", name=op.f("pk_steady_time")),
    )
    op.create_table(
        "calendar_feed",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_calendar_feed_person_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_calendar_feed_shop_id")),
        sa.PrimaryKeyConstraint("person_id", "shop_id", name=op.f("pk_calendar_feed")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_calendar_feed_token_hash")),
    )
    op.create_table(
        "shown_item",
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("figure", sa.Text(), nullable=True),
        sa.Column("solution", sa.Text(), nullable=True),
        sa.Column("picture_hash", sa.String(length=64), nullable=True),
        sa.ForeignKeyConstraint(
            ["picture_hash"], ["kept_picture.hash"], name=op.f("fk_shown_item_picture_hash")
        ),
        sa.PrimaryKeyConstraint("hash", name=op.f("pk_shown_item")),
    )
    op.create_table(
        "assignment",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("class_id", BIG, nullable=True),
        sa.Column("maker_id", BIG, nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("form", sa.String(length=40), nullable=False),
        sa.Column("issue", sa.String(length=40), nullable=False),
        sa.Column("opens_at", TIME, nullable=False),
        sa.Column("due_at", TIME, nullable=True),
        sa.Column("tries", BIG, nullable=False),
        sa.Column("minutes", BIG, nullable=True),
        sa.Column("feedback", sa.String(length=40), nullable=False),
        sa.Column("shuffled", sa.Boolean(), nullable=False),
        sa.Column("own_numbers", sa.Boolean(), nullable=False),
        sa.Column("invigilated", sa.Boolean(), nullable=False),
        sa.Column("start_code", sa.String(length=12), nullable=True),
        sa.Column("seed", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("released_at", TIME, nullable=True),
        sa.CheckConstraint(
            "feedback IN ('after each question', 'after handing in', 'when released')",
            name=op.f("ck_assignment_known_feedback"),
        ),
        sa.CheckConstraint(
            "form IN ('homework', 'timed test')", name=op.f("ck_assignment_known_form")
        ),
        sa.CheckConstraint(
            "issue IN ('draft', 'issued', 'withdrawn')", name=op.f("ck_assignment_known_issue")
        ),
        sa.CheckConstraint(
            "due_at IS NULL OR due_at > opens_at", name=op.f("ck_assignment_due_after_opening")
        ),
        sa.CheckConstraint(
            "minutes IS NULL OR minutes >= 1", name=op.f("ck_assignment_minutes_from_one")
        ),
        sa.CheckConstraint("tries >= 1", name=op.f("ck_assignment_tries_from_one")),
        sa.ForeignKeyConstraint(
            ["class_id"], ["training_class.id"], name=op.f("fk_assignment_class_id")
        ),
        sa.ForeignKeyConstraint(["maker_id"], ["person.id"], name=op.f("fk_assignment_maker_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_assignment_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment")),
    )
    op.create_index(op.f("ix_assignment_class_id"), "assignment", ["class_id"], unique=False)
    op.create_index(op.f("ix_assignment_shop_id_id"), "assignment", ["shop_id", "id"], unique=False)
    op.create_table(
        "invitation",
        sa.Column("id", BIG, nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("class_id", BIG, nullable=True),
        sa.Column("person_id", BIG, nullable=True),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("made_by", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("ends_at", TIME, nullable=False),
        sa.Column("used_at", TIME, nullable=True),
        sa.Column("used_by", BIG, nullable=True),
        sa.Column("withdrawn_at", TIME, nullable=True),
        sa.CheckConstraint("ends_at > made_at", name=op.f("ck_invitation_ends_after_it_was_made")),
        sa.ForeignKeyConstraint(
            ["class_id"], ["training_class.id"], name=op.f("fk_invitation_class_id")
        ),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_invitation_made_by")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_invitation_person_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_invitation_shop_id")),
        sa.ForeignKeyConstraint(["used_by"], ["person.id"], name=op.f("fk_invitation_used_by")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invitation")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_invitation_token_hash")),
    )
    op.create_index(op.f("ix_invitation_shop_id_id"), "invitation", ["shop_id", "id"], unique=False)
    op.create_table(
        "assignment_person",
        sa.Column("assignment_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("assigned", sa.Boolean(), nullable=False),
        sa.Column("extra_minutes", BIG, nullable=False),
        sa.CheckConstraint(
            "extra_minutes BETWEEN 0 AND 600",
            name=op.f("ck_assignment_person_extra_minutes_bounded"),
        ),
        sa.ForeignKeyConstraint(
            ["assignment_id"], ["assignment.id"], name=op.f("fk_assignment_person_assignment_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_assignment_person_person_id")
        ),
        sa.PrimaryKeyConstraint("assignment_id", "person_id", name=op.f("pk_assignment_person")),
    )
    op.create_index(
        op.f("ix_assignment_person_person_id"), "assignment_person", ["person_id"], unique=False
    )
    op.create_table(
        "sitting",
        sa.Column("id", BIG, nullable=False),
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("assignment_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("nth", BIG, nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("place_hash", sa.String(length=64), nullable=False),
        sa.Column("place_since", TIME, nullable=False),
        sa.Column("opened_at", TIME, nullable=False),
        sa.Column("allowed_ms", BIG, nullable=True),
        sa.Column("added_ms", BIG, nullable=False),
        sa.Column("paused_ms", BIG, nullable=False),
        sa.Column("paused_at", TIME, nullable=True),
        sa.Column("last_at", TIME, nullable=False),
        sa.Column("finished_at", TIME, nullable=True),
        sa.Column("counted_at", TIME, nullable=True),
        sa.Column("points", BIG, nullable=True),
        sa.Column("out_of", BIG, nullable=True),
        sa.CheckConstraint(
            "state IN ('laid out', 'open', 'paused', 'handed in', 'closed')",
            name=op.f("ck_sitting_known_state"),
        ),
        sa.CheckConstraint(
            "added_ms >= 0 AND paused_ms >= 0", name=op.f("ck_sitting_spans_not_negative")
        ),
        sa.CheckConstraint("nth >= 1", name=op.f("ck_sitting_nth_from_one")),
        sa.CheckConstraint(
            "points IS NULL OR points BETWEEN 0 AND out_of", name=op.f("ck_sitting_points_within")
        ),
        sa.ForeignKeyConstraint(
            ["assignment_id"], ["assignment.id"], name=op.f("fk_sitting_assignment_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_sitting_person_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_sitting_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sitting")),
        sa.UniqueConstraint(
            "assignment_id", "person_id", "nth", name=op.f("uq_sitting_assignment_id_person_id_nth")
        ),
        sa.UniqueConstraint("token", name=op.f("uq_sitting_token")),
    )
    op.create_index(
        op.f("ix_sitting_person_id_state"), "sitting", ["person_id", "state"], unique=False
    )
    op.create_index(op.f("ix_sitting_state"), "sitting", ["state"], unique=False)
    op.create_table(
        "assignment_question",
        sa.Column("id", BIG, nullable=False),
        sa.Column("assignment_id", BIG, nullable=False),
        sa.Column("place", BIG, nullable=False),
        sa.Column("topic", sa.String(length=40), nullable=False),
        sa.Column("item_ref", sa.String(length=120), nullable=False),
        sa.Column("item_version", BIG, nullable=False),
        sa.Column("level", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("sheet_revision_id", BIG, nullable=True),
        sa.Column("bank_item_version_id", BIG, nullable=True),
        sa.Column("voided_at", TIME, nullable=True),
        sa.Column("void_reason", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(sheet_revision_id IS NULL) <> (bank_item_version_id IS NULL)",
            name=op.f("ck_assignment_question_from_sheet_or_bank"),
        ),
        sa.ForeignKeyConstraint(
            ["assignment_id"], ["assignment.id"], name=op.f("fk_assignment_question_assignment_id")
        ),
        sa.ForeignKeyConstraint(
            ["bank_item_version_id"],
            ["bank_item_version.id"],
            name=op.f("fk_assignment_question_bank_item_version_id"),
        ),
        sa.ForeignKeyConstraint(
            ["sheet_revision_id"],
            ["sheet_revision.id"],
            name=op.f("fk_assignment_question_sheet_revision_id"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_assignment_question")),
        sa.UniqueConstraint(
            "assignment_id", "place", name=op.f("uq_assignment_question_assignment_id_place")
        ),
    )
    op.create_index(
        op.f("ix_assignment_question_item_ref"), "assignment_question", ["item_ref"], unique=False
    )
    op.create_table(
        "sitting_save",
        sa.Column("sitting_id", BIG, nullable=False),
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("sequence", BIG, nullable=False),
        sa.Column("payload_hash", sa.String(length=64), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("saved_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(
            ["sitting_id"], ["sitting.id"], name=op.f("fk_sitting_save_sitting_id")
        ),
        sa.PrimaryKeyConstraint("sitting_id", "key_hash", name=op.f("pk_sitting_save")),
    )
    op.create_table(
        "sitting_item",
        sa.Column("sitting_id", BIG, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("question_id", BIG, nullable=False),
        sa.Column("seed", BIG, nullable=False),
        sa.Column("shown_hash", sa.String(length=64), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("given", sa.Text(), nullable=True),
        sa.Column("sequence", BIG, nullable=False),
        sa.Column("saved_at", TIME, nullable=True),
        sa.Column("look_again", sa.Boolean(), nullable=False),
        sa.Column("marked_at", TIME, nullable=True),
        sa.Column("correct", sa.Boolean(), nullable=True),
        sa.Column("credit", sa.Double(), nullable=True),
        sa.Column("misconception", sa.String(length=120), nullable=True),
        sa.Column("given_words", sa.Text(), nullable=True),
        sa.Column("right_words", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "credit IS NULL OR credit BETWEEN 0 AND 1",
            name=op.f("ck_sitting_item_credit_from_0_to_1"),
        ),
        sa.ForeignKeyConstraint(
            ["question_id"], ["assignment_question.id"], name=op.f("fk_sitting_item_question_id")
        ),
        sa.ForeignKeyConstraint(
            ["shown_hash"], ["shown_item.hash"], name=op.f("fk_sitting_item_shown_hash")
        ),
        sa.ForeignKeyConstraint(
            ["sitting_id"], ["sitting.id"], name=op.f("fk_sitting_item_sitting_id")
        ),
        sa.PrimaryKeyConstraint("sitting_id", "number", name=op.f("pk_sitting_item")),
    )
    op.create_index(
        op.f("ix_sitting_item_question_id"), "sitting_item", ["question_id"], unique=False
    )


def downgrade() -> None:
    op.drop_index(op.f("ix_sitting_item_question_id"), table_name="sitting_item")
    op.drop_table("sitting_item")
    op.drop_table("sitting_save")
    op.drop_index(op.f("ix_assignment_question_item_ref"), table_name="assignment_question")
    op.drop_table("assignment_question")
    op.drop_index(op.f("ix_sitting_state"), table_name="sitting")
    op.drop_index(op.f("ix_sitting_person_id_state"), table_name="sitting")
    op.drop_table("sitting")
    op.drop_index(op.f("ix_assignment_person_person_id"), table_name="assignment_person")
    op.drop_table("assignment_person")
    op.drop_index(op.f("ix_invitation_shop_id_id"), table_name="invitation")
    op.drop_table("invitation")
    op.drop_index(op.f("ix_assignment_shop_id_id"), table_name="assignment")
    op.drop_index(op.f("ix_assignment_class_id"), table_name="assignment")
    op.drop_table("assignment")
    op.drop_table("shown_item")
    op.drop_table("calendar_feed")
    op.drop_table("steady_time")
    op.drop_table("kept_picture")
