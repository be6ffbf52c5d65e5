"""The first tables: shops and people, classes, sheets, banks, offers, responses, audit."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
NEVER_CHANGED = ("audit_entry", "response")


def upgrade() -> None:
    _make_tables()
    op.execute(f"INSERT INTO audit_head (id, number, hash) VALUES (1, 0, '{'0' * 64}')")
    if op.get_bind().dialect.name == "sqlite":
        _guard_sqlite()
    else:
        _guard_postgresql()


def downgrade() -> None:
    _drop_tables()
    if op.get_bind().dialect.name != "sqlite":
        op.execute("DROP FUNCTION refuse_change()")


def _guard_sqlite() -> None:
    for table in NEVER_CHANGED:
        for change in ("UPDATE", "DELETE"):
            op.execute(
                f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, '{table} rows are never changed'); END"
            )


def _guard_postgresql() -> None:
    op.execute(
        "CREATE FUNCTION refuse_change() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ BEGIN RAISE EXCEPTION '% rows are never changed', TG_TABLE_NAME; END $$"
    )
    for table in NEVER_CHANGED:
        op.execute(
            f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )


def _make_tables() -> None:
    op.create_table(
        "audit_head",
        sa.Column("id", BIG, autoincrement=False, nullable=False),
        sa.Column("number", BIG, nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_audit_head_one_row")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit_head")),
    )
    op.create_table(
        "item_calibration",
        sa.Column("item_ref", sa.String(length=120), nullable=False),
        sa.Column("slope", sa.Double(), nullable=False),
        sa.Column("difficulty", sa.Double(), nullable=False),
        sa.Column("answers", BIG, nullable=False),
        sa.Column("fitted_at", TIME, nullable=False),
        sa.CheckConstraint("slope > 0", name=op.f("ck_item_calibration_slope_positive")),
        sa.PrimaryKeyConstraint("item_ref", name=op.f("pk_item_calibration")),
    )
    op.create_table(
        "person",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("sign_in_name", sa.String(length=120), nullable=True),
        sa.Column("password_hash", sa.Text(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("erased_at", TIME, nullable=True),
        sa.CheckConstraint(
            "erased_at IS NULL OR (sign_in_name IS NULL AND password_hash IS NULL)",
            name=op.f("ck_person_erased_person_keeps_no_sign_in"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("sign_in_name", name=op.f("uq_person_sign_in_name")),
    )
    op.create_table(
        "shop",
        sa.Column("id", BIG, nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("invented", sa.Boolean(), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop")),
        sa.UniqueConstraint("name", name=op.f("uq_shop_name")),
    )
    op.create_table(
        "sign_in_failures",
        sa.Column("key_hash", sa.String(length=64), nullable=False),
        sa.Column("count", BIG, nullable=False),
        sa.Column("since", TIME, nullable=False),
        sa.PrimaryKeyConstraint("key_hash", name=op.f("pk_sign_in_failures")),
    )
    op.create_index(op.f("ix_sign_in_failures_since"), "sign_in_failures", ["since"], unique=False)
    op.create_table(
        "audit_entry",
        sa.Column("number", BIG, autoincrement=False, nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.Column("actor_id", BIG, nullable=True),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("action", sa.String(length=40), nullable=False),
        sa.Column("subject", sa.String(length=120), nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["actor_id"], ["person.id"], name=op.f("fk_audit_entry_actor_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_audit_entry_shop_id")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_audit_entry")),
        sa.UniqueConstraint("hash", name=op.f("uq_audit_entry_hash")),
    )
    op.create_index(op.f("ix_audit_entry_shop_id"), "audit_entry", ["shop_id"], unique=False)
    op.create_table(
        "bank",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_bank_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bank")),
    )
    op.create_table(
        "general_competence",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("mean", sa.Double(), nullable=False),
        sa.Column("variance", sa.Double(), nullable=False),
        sa.Column("answers", BIG, nullable=False),
        sa.Column("last_at", TIME, nullable=False),
        sa.CheckConstraint("variance > 0", name=op.f("ck_general_competence_variance_positive")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_general_competence_person_id")
        ),
        sa.PrimaryKeyConstraint("person_id", name=op.f("pk_general_competence")),
    )
    op.create_table(
        "media",
        sa.Column("file", sa.String(length=200), nullable=False),
        sa.Column("content_hash", sa.String(length=64), nullable=False),
        sa.Column("width", BIG, nullable=False),
        sa.Column("height", BIG, nullable=False),
        sa.Column("alt", sa.Text(), nullable=False),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("stored_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_media_shop_id")),
        sa.PrimaryKeyConstraint("file", name=op.f("pk_media")),
    )
    op.create_table(
        "membership",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("role", sa.String(length=40), nullable=False),
        sa.Column("since", TIME, nullable=False),
        sa.CheckConstraint(
            "role IN ('learner', 'instructor', 'manager', 'administrator')",
            name=op.f("ck_membership_known_role"),
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_membership_person_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_membership_shop_id")),
        sa.PrimaryKeyConstraint("person_id", "shop_id", "role", name=op.f("pk_membership")),
    )
    op.create_index(
        op.f("ix_membership_shop_id_role"), "membership", ["shop_id", "role"], unique=False
    )
    op.create_table(
        "sheet",
        sa.Column("id", sa.String(length=120), nullable=False),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("made_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_sheet_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet")),
    )
    op.create_table(
        "signed_in",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("ends_at", TIME, nullable=False),
        sa.Column("ended_at", TIME, nullable=True),
        sa.Column("source", sa.String(length=200), nullable=False),
        sa.CheckConstraint("ends_at > made_at", name=op.f("ck_signed_in_ends_after_it_began")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_signed_in_person_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_signed_in_shop_id")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_signed_in")),
    )
    op.create_index(op.f("ix_signed_in_person_id"), "signed_in", ["person_id"], unique=False)
    op.create_table(
        "topic_competence",
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("topic", sa.String(length=40), nullable=False),
        sa.Column("mean", sa.Double(), nullable=False),
        sa.Column("variance", sa.Double(), nullable=False),
        sa.Column("answers", BIG, nullable=False),
        sa.Column("right_answers", BIG, nullable=False),
        sa.Column("last_at", TIME, nullable=False),
        sa.CheckConstraint(
            "right_answers BETWEEN 0 AND answers",
            name=op.f("ck_topic_competence_right_within_answers"),
        ),
        sa.CheckConstraint("variance > 0", name=op.f("ck_topic_competence_variance_positive")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_topic_competence_person_id")
        ),
        sa.PrimaryKeyConstraint("person_id", "topic", name=op.f("pk_topic_competence")),
    )
    op.create_table(
        "training_class",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("name", sa.String(length=200), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("archived_at", TIME, nullable=True),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_training_class_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_training_class")),
        sa.UniqueConstraint("shop_id", "name", name=op.f("uq_training_class_shop_id_name")),
    )
    op.create_table(
        "bank_item",
        sa.Column("id", BIG, nullable=False),
        sa.Column("bank_id", sa.String(length=120), nullable=False),
        sa.Column("entry", sa.String(length=120), nullable=False),
        sa.ForeignKeyConstraint(["bank_id"], ["bank.id"], name=op.f("fk_bank_item_bank_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bank_item")),
        sa.UniqueConstraint("bank_id", "entry", name=op.f("uq_bank_item_bank_id_entry")),
    )
    op.create_table(
        "class_member",
        sa.Column("class_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("part", sa.String(length=40), nullable=False),
        sa.Column("joined_at", TIME, nullable=False),
        sa.Column("left_at", TIME, nullable=True),
        sa.CheckConstraint(
            "part IN ('learner', 'instructor')", name=op.f("ck_class_member_known_part")
        ),
        sa.CheckConstraint(
            "left_at IS NULL OR left_at >= joined_at",
            name=op.f("ck_class_member_leaves_after_joining"),
        ),
        sa.ForeignKeyConstraint(
            ["class_id"], ["training_class.id"], name=op.f("fk_class_member_class_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_class_member_person_id")
        ),
        sa.PrimaryKeyConstraint("class_id", "person_id", name=op.f("pk_class_member")),
    )
    op.create_index(op.f("ix_class_member_person_id"), "class_member", ["person_id"], unique=False)
    op.create_table(
        "sheet_revision",
        sa.Column("id", BIG, nullable=False),
        sa.Column("sheet_id", sa.String(length=120), nullable=False),
        sa.Column("revision", BIG, nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("toml", sa.Text(), nullable=False),
        sa.Column("content_hash", sa.String(length=64), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("invented", sa.Boolean(), nullable=False),
        sa.Column("built_from", sa.Date(), nullable=True),
        sa.Column("built_to", sa.Date(), nullable=True),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("stored_by", BIG, nullable=True),
        sa.Column("stored_at", TIME, nullable=False),
        sa.CheckConstraint(
            "state IN ('draft', 'published', 'withdrawn')",
            name=op.f("ck_sheet_revision_known_state"),
        ),
        sa.CheckConstraint(
            "built_from IS NULL OR built_to IS NULL OR built_from <= built_to",
            name=op.f("ck_sheet_revision_built_from_before_to"),
        ),
        sa.CheckConstraint("revision >= 1", name=op.f("ck_sheet_revision_revision_from_one")),
        sa.ForeignKeyConstraint(
            ["sheet_id"], ["sheet.id"], name=op.f("fk_sheet_revision_sheet_id")
        ),
        sa.ForeignKeyConstraint(
            ["stored_by"], ["person.id"], name=op.f("fk_sheet_revision_stored_by")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sheet_revision")),
        sa.UniqueConstraint(
            "sheet_id", "revision", name=op.f("uq_sheet_revision_sheet_id_revision")
        ),
    )
    op.create_table(
        "bank_item_version",
        sa.Column("id", BIG, nullable=False),
        sa.Column("item_id", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column("topic", sa.String(length=40), nullable=False),
        sa.Column("level", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("content", sa.Text(), nullable=False),
        sa.Column("content_hash", sa.String(length=64), nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("current", sa.Boolean(), nullable=False),
        sa.Column("author_id", BIG, nullable=True),
        sa.Column("reviewer_id", BIG, nullable=True),
        sa.Column("stored_at", TIME, nullable=False),
        sa.CheckConstraint(
            "state IN ('draft', 'in review', 'approved', 'withdrawn')",
            name=op.f("ck_bank_item_version_known_state"),
        ),
        sa.CheckConstraint(
            "author_id IS NULL OR reviewer_id IS NULL OR author_id <> reviewer_id",
            name=op.f("ck_bank_item_version_reviewer_is_not_author"),
        ),
        sa.CheckConstraint("version >= 1", name=op.f("ck_bank_item_version_version_from_one")),
        sa.ForeignKeyConstraint(
            ["author_id"], ["person.id"], name=op.f("fk_bank_item_version_author_id")
        ),
        sa.ForeignKeyConstraint(
            ["item_id"], ["bank_item.id"], name=op.f("fk_bank_item_version_item_id")
        ),
        sa.ForeignKeyConstraint(
            ["reviewer_id"], ["person.id"], name=op.f("fk_bank_item_version_reviewer_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bank_item_version")),
        sa.UniqueConstraint(
            "item_id", "version", name=op.f("uq_bank_item_version_item_id_version")
        ),
    )
    op.create_index(
        op.f("ix_bank_item_version_topic_current"),
        "bank_item_version",
        ["topic", "current"],
        unique=False,
    )
    op.create_table(
        "offer",
        sa.Column("id", BIG, nullable=False),
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("purpose", sa.String(length=40), nullable=False),
        sa.Column("topic", sa.String(length=40), nullable=False),
        sa.Column("item_ref", sa.String(length=120), nullable=False),
        sa.Column("item_version", BIG, nullable=False),
        sa.Column("level", sa.String(length=40), nullable=False),
        sa.Column("kind", sa.String(length=40), nullable=False),
        sa.Column("sheet_revision_id", BIG, nullable=True),
        sa.Column("bank_item_version_id", BIG, nullable=True),
        sa.Column("seed", BIG, nullable=False),
        sa.Column("item_hash", sa.String(length=64), nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.CheckConstraint(
            "purpose IN ('practice', 'assignment', 'sitting')", name=op.f("ck_offer_known_purpose")
        ),
        sa.CheckConstraint(
            "(sheet_revision_id IS NULL) <> (bank_item_version_id IS NULL)",
            name=op.f("ck_offer_from_sheet_or_bank"),
        ),
        sa.ForeignKeyConstraint(
            ["bank_item_version_id"],
            ["bank_item_version.id"],
            name=op.f("fk_offer_bank_item_version_id"),
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_offer_person_id")),
        sa.ForeignKeyConstraint(
            ["sheet_revision_id"], ["sheet_revision.id"], name=op.f("fk_offer_sheet_revision_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_offer_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offer")),
        sa.UniqueConstraint("token", name=op.f("uq_offer_token")),
    )
    op.create_index(op.f("ix_offer_person_id_id"), "offer", ["person_id", "id"], unique=False)
    op.create_table(
        "response",
        sa.Column("id", BIG, nullable=False),
        sa.Column("offer_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("topic", sa.String(length=40), nullable=False),
        sa.Column("item_ref", sa.String(length=120), nullable=False),
        sa.Column("correct", sa.Boolean(), nullable=False),
        sa.Column("credit", sa.Double(), nullable=False),
        sa.Column("misconception", sa.String(length=120), nullable=True),
        sa.Column("given", sa.Text(), nullable=False),
        sa.Column("given_words", sa.Text(), nullable=False),
        sa.Column("right_words", sa.Text(), nullable=False),
        sa.Column("nth", BIG, nullable=False),
        sa.Column("mean_before", sa.Double(), nullable=False),
        sa.Column("variance_before", sa.Double(), nullable=False),
        sa.Column("mean_after", sa.Double(), nullable=False),
        sa.Column("variance_after", sa.Double(), nullable=False),
        sa.Column("last_before", TIME, nullable=True),
        sa.Column("answered_at", TIME, nullable=False),
        sa.CheckConstraint("credit BETWEEN 0 AND 1", name=op.f("ck_response_credit_from_0_to_1")),
        sa.CheckConstraint("nth >= 1", name=op.f("ck_response_nth_from_one")),
        sa.ForeignKeyConstraint(["offer_id"], ["offer.id"], name=op.f("fk_response_offer_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_response_person_id")),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_response_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_response")),
        sa.UniqueConstraint("offer_id", name=op.f("uq_response_offer_id")),
    )
    op.create_index(op.f("ix_response_person_id_id"), "response", ["person_id", "id"], unique=False)


def _drop_tables() -> None:
    op.drop_index(op.f("ix_response_person_id_id"), table_name="response")
    op.drop_table("response")
    op.drop_index(op.f("ix_offer_person_id_id"), table_name="offer")
    op.drop_table("offer")
    op.drop_index(op.f("ix_bank_item_version_topic_current"), table_name="bank_item_version")
    op.drop_table("bank_item_version")
    op.drop_table("sheet_revision")
    op.drop_index(op.f("ix_class_member_person_id"), table_name="class_member")
    op.drop_table("class_member")
    op.drop_table("bank_item")
    op.drop_table("training_class")
    op.drop_table("topic_competence")
    op.drop_index(op.f("ix_signed_in_person_id"), table_name="signed_in")
    op.drop_table("signed_in")
    op.drop_table("sheet")
    op.drop_index(op.f("ix_membership_shop_id_role"), table_name="membership")
    op.drop_table("membership")
    op.drop_table("media")
    op.drop_table("general_competence")
    op.drop_table("bank")
    op.drop_index(op.f("ix_audit_entry_shop_id"), table_name="audit_entry")
    op.drop_table("audit_entry")
    op.drop_index(op.f("ix_sign_in_failures_since"), table_name="sign_in_failures")
    op.drop_table("sign_in_failures")
    op.drop_table("shop")
    op.drop_table("person")
    op.drop_table("item_calibration")
    op.drop_table("audit_head")
