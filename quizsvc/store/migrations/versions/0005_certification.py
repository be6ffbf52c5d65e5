"""Certification: schemes, panels, forms, sign-offs, decisions, certificates, keys, outbox."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
TABLES = (
    "scheme",
    "scheme_version",
    "panel",
    "panel_estimate",
    "panel_judge",
    "candidate_form",
    "candidate_form_item",
    "task_sign_off",
    "sign_off_picture",
    "decision",
    "appeal",
    "certificate",
    "certificate_note",
    "issuer_key",
    "outgoing_message",
)


def upgrade() -> None:
    _make_schemes()
    _make_panels()
    _make_forms()
    _make_sign_offs()
    _make_decisions()
    _make_certificates()
    _make_keys_and_outbox()
    _guard_notes()


def downgrade() -> None:
    for table in reversed(TABLES):
        op.drop_table(table)


def _guard_notes() -> None:
    if op.get_bind().dialect.name != "sqlite":
        op.execute(
            "CREATE TRIGGER certificate_note_no_change BEFORE UPDATE OR DELETE ON certificate_note "
            "FOR EACH ROW EXECUTE FUNCTION refuse_change()"
        )
        return
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER certificate_note_no_{change.lower()} BEFORE {change} "
            "ON certificate_note "
            "BEGIN SELECT RAISE(ABORT, 'certificate_note rows are never changed'); END"
        )


def _make_schemes() -> None:
    op.create_table(
        "scheme",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_scheme_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_scheme")),
        sa.UniqueConstraint("shop_id", "title", name=op.f("uq_scheme_shop_id_title")),
    )
    op.create_table(
        "scheme_version",
        sa.Column("id", BIG, nullable=False),
        sa.Column("scheme_id", BIG, nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("terms", sa.Text(), nullable=False),
        sa.Column("made_by", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("cut_share", sa.Double(), nullable=True),
        sa.Column("cut_record", sa.Text(), nullable=True),
        sa.Column("cut_approved_by", BIG, nullable=True),
        sa.Column("cut_approved_at", TIME, nullable=True),
        sa.Column("published_by", BIG, nullable=True),
        sa.Column("published_at", TIME, nullable=True),
        sa.CheckConstraint(
            "state = 'draft' OR cut_approved_at IS NOT NULL",
            name=op.f("ck_scheme_version_published_with_a_cut"),
        ),
        sa.CheckConstraint(
            "state IN ('draft', 'published', 'replaced')",
            name=op.f("ck_scheme_version_known_state"),
        ),
        sa.CheckConstraint(
            "cut_share IS NULL OR cut_share BETWEEN 0 AND 1",
            name=op.f("ck_scheme_version_cut_is_a_share"),
        ),
        sa.CheckConstraint("version >= 1", name=op.f("ck_scheme_version_version_from_one")),
        sa.ForeignKeyConstraint(
            ["cut_approved_by"], ["person.id"], name=op.f("fk_scheme_version_cut_approved_by")
        ),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_scheme_version_made_by")),
        sa.ForeignKeyConstraint(
            ["published_by"], ["person.id"], name=op.f("fk_scheme_version_published_by")
        ),
        sa.ForeignKeyConstraint(
            ["scheme_id"], ["scheme.id"], name=op.f("fk_scheme_version_scheme_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_scheme_version")),
        sa.UniqueConstraint(
            "scheme_id", "version", name=op.f("uq_scheme_version_scheme_id_version")
        ),
    )
    op.create_index(
        op.f("ix_scheme_version_scheme_id_state"),
        "scheme_version",
        ["scheme_id", "state"],
        unique=False,
    )


def _make_panels() -> None:
    op.create_table(
        "panel",
        sa.Column("id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("questions", sa.Text(), nullable=False),
        sa.Column("opened_by", BIG, nullable=False),
        sa.Column("opened_at", TIME, nullable=False),
        sa.Column("closed_at", TIME, nullable=True),
        sa.ForeignKeyConstraint(["opened_by"], ["person.id"], name=op.f("fk_panel_opened_by")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["scheme_version.id"], name=op.f("fk_panel_version_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_panel")),
        sa.UniqueConstraint("version_id", name=op.f("uq_panel_version_id")),
    )
    op.create_table(
        "panel_estimate",
        sa.Column("panel_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("place", BIG, nullable=False),
        sa.Column("chance", sa.Double(), nullable=False),
        sa.CheckConstraint(
            "chance BETWEEN 0 AND 1", name=op.f("ck_panel_estimate_chance_from_0_to_1")
        ),
        sa.ForeignKeyConstraint(
            ["panel_id"], ["panel.id"], name=op.f("fk_panel_estimate_panel_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_panel_estimate_person_id")
        ),
        sa.PrimaryKeyConstraint("panel_id", "person_id", "place", name=op.f("pk_panel_estimate")),
    )
    op.create_table(
        "panel_judge",
        sa.Column("panel_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("finished_at", TIME, nullable=True),
        sa.ForeignKeyConstraint(["panel_id"], ["panel.id"], name=op.f("fk_panel_judge_panel_id")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_panel_judge_person_id")
        ),
        sa.PrimaryKeyConstraint("panel_id", "person_id", name=op.f("pk_panel_judge")),
    )


def _make_forms() -> None:
    op.create_table(
        "candidate_form",
        sa.Column("id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("assignment_id", BIG, nullable=False),
        sa.Column("nth", BIG, nullable=False),
        sa.Column("seed", BIG, nullable=False),
        sa.Column("expected", sa.Double(), nullable=False),
        sa.Column("information", sa.Double(), nullable=False),
        sa.Column("built", sa.Text(), nullable=False),
        sa.Column("made_by", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.ForeignKeyConstraint(
            ["assignment_id"], ["assignment.id"], name=op.f("fk_candidate_form_assignment_id")
        ),
        sa.ForeignKeyConstraint(["made_by"], ["person.id"], name=op.f("fk_candidate_form_made_by")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_candidate_form_person_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_candidate_form_shop_id")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["scheme_version.id"], name=op.f("fk_candidate_form_version_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_candidate_form")),
        sa.UniqueConstraint("assignment_id", name=op.f("uq_candidate_form_assignment_id")),
        sa.UniqueConstraint(
            "version_id",
            "person_id",
            "nth",
            name=op.f("uq_candidate_form_version_id_person_id_nth"),
        ),
    )
    op.create_index(
        op.f("ix_candidate_form_person_id"), "candidate_form", ["person_id"], unique=False
    )
    op.create_table(
        "candidate_form_item",
        sa.Column("form_id", BIG, nullable=False),
        sa.Column("place", BIG, nullable=False),
        sa.Column("item_ref", sa.String(length=120), nullable=False),
        sa.Column("pilot", sa.Boolean(), nullable=False),
        sa.Column("expected", sa.Double(), nullable=False),
        sa.Column("information", sa.Double(), nullable=False),
        sa.ForeignKeyConstraint(
            ["form_id"], ["candidate_form.id"], name=op.f("fk_candidate_form_item_form_id")
        ),
        sa.PrimaryKeyConstraint("form_id", "place", name=op.f("pk_candidate_form_item")),
    )
    op.create_index(
        op.f("ix_candidate_form_item_item_ref"), "candidate_form_item", ["item_ref"], unique=False
    )


def _make_sign_offs() -> None:
    op.create_table(
        "task_sign_off",
        sa.Column("id", BIG, nullable=False),
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("task", sa.String(length=120), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("assessor_id", BIG, nullable=False),
        sa.Column("second_id", BIG, nullable=True),
        sa.Column("done", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("passed", sa.Boolean(), nullable=True),
        sa.Column("opened_at", TIME, nullable=False),
        sa.Column("assessed_at", TIME, nullable=True),
        sa.Column("confirmed_at", TIME, nullable=True),
        sa.CheckConstraint(
            "state IN ('open', 'to confirm', 'done')", name=op.f("ck_task_sign_off_known_state")
        ),
        sa.CheckConstraint(
            "assessor_id <> person_id", name=op.f("ck_task_sign_off_nobody_signs_off_themselves")
        ),
        sa.CheckConstraint(
            "second_id IS NULL OR (second_id <> person_id AND second_id <> assessor_id)",
            name=op.f("ck_task_sign_off_second_is_another_person"),
        ),
        sa.ForeignKeyConstraint(
            ["assessor_id"], ["person.id"], name=op.f("fk_task_sign_off_assessor_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_task_sign_off_person_id")
        ),
        sa.ForeignKeyConstraint(
            ["second_id"], ["person.id"], name=op.f("fk_task_sign_off_second_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_task_sign_off_shop_id")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["scheme_version.id"], name=op.f("fk_task_sign_off_version_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_task_sign_off")),
        sa.UniqueConstraint("token", name=op.f("uq_task_sign_off_token")),
    )
    op.create_index(
        op.f("ix_task_sign_off_person_id"), "task_sign_off", ["person_id"], unique=False
    )
    op.create_index(
        op.f("ix_task_sign_off_shop_id_state"), "task_sign_off", ["shop_id", "state"], unique=False
    )
    op.create_table(
        "sign_off_picture",
        sa.Column("id", BIG, nullable=False),
        sa.Column("sign_off_id", BIG, nullable=False),
        sa.Column("media_type", sa.String(length=40), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.Column("hash", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(
            ["sign_off_id"], ["task_sign_off.id"], name=op.f("fk_sign_off_picture_sign_off_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_off_picture")),
    )
    op.create_index(
        op.f("ix_sign_off_picture_sign_off_id"), "sign_off_picture", ["sign_off_id"], unique=False
    )


def _make_decisions() -> None:
    op.create_table(
        "decision",
        sa.Column("id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("form_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("state", sa.String(length=40), nullable=False),
        sa.Column("certified", sa.Boolean(), nullable=False),
        sa.Column("points", BIG, nullable=False),
        sa.Column("out_of", BIG, nullable=False),
        sa.Column("report", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("decider_id", BIG, nullable=False),
        sa.Column("confirmer_id", BIG, nullable=True),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("decided_at", TIME, nullable=True),
        sa.Column("replaces_id", BIG, nullable=True),
        sa.CheckConstraint(
            "state IN ('proposed', 'decided', 'replaced')", name=op.f("ck_decision_known_state")
        ),
        sa.CheckConstraint(
            "confirmer_id IS NULL OR (confirmer_id <> person_id AND confirmer_id <> decider_id)",
            name=op.f("ck_decision_confirmer_is_another_person"),
        ),
        sa.CheckConstraint(
            "decider_id <> person_id", name=op.f("ck_decision_nobody_decides_on_themselves")
        ),
        sa.CheckConstraint("points BETWEEN 0 AND out_of", name=op.f("ck_decision_points_within")),
        sa.ForeignKeyConstraint(
            ["confirmer_id"], ["person.id"], name=op.f("fk_decision_confirmer_id")
        ),
        sa.ForeignKeyConstraint(["decider_id"], ["person.id"], name=op.f("fk_decision_decider_id")),
        sa.ForeignKeyConstraint(
            ["form_id"], ["candidate_form.id"], name=op.f("fk_decision_form_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_decision_person_id")),
        sa.ForeignKeyConstraint(
            ["replaces_id"], ["decision.id"], name=op.f("fk_decision_replaces_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_decision_shop_id")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["scheme_version.id"], name=op.f("fk_decision_version_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_decision")),
    )
    op.create_index(op.f("ix_decision_form_id"), "decision", ["form_id"], unique=False)
    op.create_index(op.f("ix_decision_person_id"), "decision", ["person_id"], unique=False)
    op.create_table(
        "appeal",
        sa.Column("id", BIG, nullable=False),
        sa.Column("decision_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("filed_at", TIME, nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("upheld", sa.Boolean(), nullable=True),
        sa.Column("answered_by", BIG, nullable=True),
        sa.Column("answered_at", TIME, nullable=True),
        sa.ForeignKeyConstraint(["answered_by"], ["person.id"], name=op.f("fk_appeal_answered_by")),
        sa.ForeignKeyConstraint(
            ["decision_id"], ["decision.id"], name=op.f("fk_appeal_decision_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_appeal_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_appeal")),
    )
    op.create_index(op.f("ix_appeal_decision_id"), "appeal", ["decision_id"], unique=False)


def _make_certificates() -> None:
    op.create_table(
        "certificate",
        sa.Column("id", BIG, nullable=False),
        sa.Column("token", sa.String(length=32), nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("decision_id", BIG, nullable=False),
        sa.Column("holder_name", sa.String(length=200), nullable=False),
        sa.Column("issued_at", TIME, nullable=False),
        sa.Column("valid_until", TIME, nullable=True),
        sa.Column("status_place", BIG, nullable=False),
        sa.Column("key_id", sa.String(length=120), nullable=False),
        sa.Column("credential", sa.Text(), nullable=False),
        sa.Column("token_form", sa.Text(), nullable=False),
        sa.Column("suspended_at", TIME, nullable=True),
        sa.Column("revoked_at", TIME, nullable=True),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("renews_id", BIG, nullable=True),
        sa.CheckConstraint(
            "status_place BETWEEN 0 AND 131071", name=op.f("ck_certificate_place_in_the_list")
        ),
        sa.CheckConstraint(
            "valid_until IS NULL OR valid_until > issued_at",
            name=op.f("ck_certificate_valid_for_a_time"),
        ),
        sa.ForeignKeyConstraint(
            ["decision_id"], ["decision.id"], name=op.f("fk_certificate_decision_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_certificate_person_id")
        ),
        sa.ForeignKeyConstraint(
            ["renews_id"], ["certificate.id"], name=op.f("fk_certificate_renews_id")
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_certificate_shop_id")),
        sa.ForeignKeyConstraint(
            ["version_id"], ["scheme_version.id"], name=op.f("fk_certificate_version_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_certificate")),
        sa.UniqueConstraint(
            "shop_id", "status_place", name=op.f("uq_certificate_shop_id_status_place")
        ),
        sa.UniqueConstraint("token", name=op.f("uq_certificate_token")),
    )
    op.create_index(op.f("ix_certificate_person_id"), "certificate", ["person_id"], unique=False)
    op.create_index(
        op.f("ix_certificate_shop_id_valid_until"),
        "certificate",
        ["shop_id", "valid_until"],
        unique=False,
    )
    op.create_table(
        "certificate_note",
        sa.Column("id", BIG, nullable=False),
        sa.Column("certificate_id", BIG, nullable=False),
        sa.Column("deed", sa.String(length=40), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", BIG, nullable=True),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint(
            "deed IN ('issued', 'renewed', 'suspended', 'reinstated', 'revoked')",
            name=op.f("ck_certificate_note_known_deed"),
        ),
        sa.ForeignKeyConstraint(
            ["certificate_id"], ["certificate.id"], name=op.f("fk_certificate_note_certificate_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_certificate_note_person_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_certificate_note")),
    )
    op.create_index(
        op.f("ix_certificate_note_certificate_id"),
        "certificate_note",
        ["certificate_id"],
        unique=False,
    )


def _make_keys_and_outbox() -> None:
    op.create_table(
        "issuer_key",
        sa.Column("id", BIG, nullable=False),
        sa.Column("shop_id", BIG, nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("public", sa.String(length=200), nullable=False),
        sa.Column("sealed", sa.Text(), nullable=False),
        sa.Column("valid_from", TIME, nullable=False),
        sa.Column("valid_until", TIME, nullable=True),
        sa.Column("revoked_at", TIME, nullable=True),
        sa.CheckConstraint(
            "valid_until IS NULL OR valid_until >= valid_from",
            name=op.f("ck_issuer_key_ends_after"),
        ),
        sa.ForeignKeyConstraint(["shop_id"], ["shop.id"], name=op.f("fk_issuer_key_shop_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_issuer_key")),
        sa.UniqueConstraint("shop_id", "name", name=op.f("uq_issuer_key_shop_id_name")),
    )
    op.create_table(
        "outgoing_message",
        sa.Column("id", BIG, nullable=False),
        sa.Column("about", sa.String(length=120), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("subject", sa.String(length=200), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("due_at", TIME, nullable=False),
        sa.Column("attempts", BIG, nullable=False),
        sa.Column("last_error", sa.Text(), nullable=True),
        sa.Column("sent_at", TIME, nullable=True),
        sa.Column("given_up_at", TIME, nullable=True),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_outgoing_message_person_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outgoing_message")),
        sa.UniqueConstraint("about", name=op.f("uq_outgoing_message_about")),
    )
    op.create_index(
        op.f("ix_outgoing_message_sent_at_due_at"),
        "outgoing_message",
        ["sent_at", "due_at"],
        unique=False,
    )
