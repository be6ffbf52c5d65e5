"""Authoring: texts of banks, review, cards and search, pictures, answers marked again, jobs."""

from __future__ import annotations

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
TIME = sa.DateTime(timezone=True)
NEVER_CHANGED = ("item_note", "remark", "remarked_response")
STATES = "state IN ('draft', 'in review', 'approved', 'withdrawn')"
DEEDS = (
    "deed IN ('written', 'imported', 'sent to review', 'given back', 'approved', 'withdrawn', "
    "'commented', 'answers marked again')"
)


def upgrade() -> None:
    op.add_column("bank_item_version", sa.Column("based_on", BIG, nullable=True))
    op.create_index(
        op.f("ix_response_item_ref_answered_at"), "response", ["item_ref", "answered_at"]
    )
    _make_texts()
    _make_reviews()
    _make_cards()
    _make_remarks()
    _make_jobs()
    sqlite = op.get_bind().dialect.name == "sqlite"
    for table in NEVER_CHANGED:
        _guard(table, sqlite)
    _make_search(sqlite)
    _fill_cards(sqlite)


def downgrade() -> None:
    op.execute("DROP TABLE item_search")
    for table in (
        *("job", "remarked_response", "remark", "picture_bytes", "item_card", "item_note"),
        *("item_text", "bank_head"),
    ):
        op.drop_table(table)
    op.drop_index(op.f("ix_response_item_ref_answered_at"), table_name="response")
    op.drop_column("bank_item_version", "based_on")


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


def _make_texts() -> None:
    op.create_table(
        "bank_head",
        sa.Column("bank_id", sa.String(120), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("stated", sa.Text(), nullable=False),
        _fk("bank_head", "bank_id", "bank.id"),
        sa.PrimaryKeyConstraint("bank_id", name=op.f("pk_bank_head")),
    )
    op.create_table(
        "item_text",
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        _fk("item_text", "version_id", "bank_item_version.id"),
        sa.PrimaryKeyConstraint("version_id", name=op.f("pk_item_text")),
    )
    op.create_table(
        "picture_bytes",
        sa.Column("file", sa.String(200), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        _fk("picture_bytes", "file", "media.file"),
        sa.PrimaryKeyConstraint("file", name=op.f("pk_picture_bytes")),
    )


def _make_reviews() -> None:
    op.create_table(
        "item_note",
        sa.Column("id", BIG, nullable=False),
        sa.Column("item_id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=True),
        sa.Column("deed", sa.String(40), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint(DEEDS, name=op.f("ck_item_note_known_deed")),
        _fk("item_note", "item_id", "bank_item.id"),
        _fk("item_note", "version_id", "bank_item_version.id"),
        _fk("item_note", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_item_note")),
    )
    op.create_index(op.f("ix_item_note_item_id"), "item_note", ["item_id"])


def _make_cards() -> None:
    op.create_table(
        "item_card",
        sa.Column("item_id", BIG, nullable=False),
        sa.Column("item_ref", sa.String(120), nullable=False),
        sa.Column("bank_id", sa.String(120), nullable=False),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("topic", sa.String(40), nullable=False),
        sa.Column("level", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("state", sa.String(40), nullable=False),
        sa.Column("version", BIG, nullable=False),
        sa.Column("offered_version", BIG, nullable=True),
        sa.Column("prompt", sa.Text(), nullable=False),
        sa.Column("author_id", BIG, nullable=True),
        sa.Column("changed_at", TIME, nullable=False),
        sa.CheckConstraint(STATES, name=op.f("ck_item_card_known_state")),
        _fk("item_card", "item_id", "bank_item.id"),
        _fk("item_card", "bank_id", "bank.id"),
        _fk("item_card", "shop_id", "shop.id"),
        _fk("item_card", "author_id", "person.id"),
        sa.PrimaryKeyConstraint("item_id", name=op.f("pk_item_card")),
        sa.UniqueConstraint("item_ref", name=op.f("uq_item_card_item_ref")),
    )
    for column in ("topic", "state", "bank_id"):
        op.create_index(op.f(f"ix_item_card_{column}"), "item_card", [column])


def _make_remarks() -> None:
    op.create_table(
        "remark",
        sa.Column("id", BIG, nullable=False),
        sa.Column("item_id", BIG, nullable=False),
        sa.Column("version_id", BIG, nullable=False),
        sa.Column("cause", sa.String(40), nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.Column("at", TIME, nullable=False),
        sa.CheckConstraint(
            "cause IN ('withdrawn as faulty', 'key corrected')",
            name=op.f("ck_remark_known_cause"),
        ),
        _fk("remark", "item_id", "bank_item.id"),
        _fk("remark", "version_id", "bank_item_version.id"),
        _fk("remark", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_remark")),
    )
    op.create_index(op.f("ix_remark_item_id"), "remark", ["item_id"])
    op.create_table(
        "remarked_response",
        sa.Column("remark_id", BIG, nullable=False),
        sa.Column("response_id", BIG, nullable=False),
        sa.Column("person_id", BIG, nullable=False),
        sa.Column("counted", sa.Boolean(), nullable=False),
        sa.Column("correct", sa.Boolean(), nullable=False),
        sa.Column("credit", sa.Double(), nullable=False),
        sa.Column("misconception", sa.String(120), nullable=True),
        sa.Column("right_words", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "credit BETWEEN 0 AND 1", name=op.f("ck_remarked_response_credit_from_0_to_1")
        ),
        _fk("remarked_response", "remark_id", "remark.id"),
        _fk("remarked_response", "response_id", "response.id"),
        _fk("remarked_response", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("remark_id", "response_id", name=op.f("pk_remarked_response")),
    )
    op.create_index(op.f("ix_remarked_response_response_id"), "remarked_response", ["response_id"])
    op.create_index(op.f("ix_remarked_response_person_id"), "remarked_response", ["person_id"])


def _make_jobs() -> None:
    op.create_table(
        "job",
        sa.Column("id", BIG, nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("shop_id", BIG, nullable=True),
        sa.Column("person_id", BIG, nullable=True),
        sa.Column("state", sa.String(40), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("done", BIG, nullable=False),
        sa.Column("total", BIG, nullable=False),
        sa.Column("attempts", BIG, nullable=False),
        sa.Column("made_at", TIME, nullable=False),
        sa.Column("beat_at", TIME, nullable=True),
        sa.Column("ended_at", TIME, nullable=True),
        sa.CheckConstraint(
            "state IN ('waiting', 'running', 'done', 'failed')", name=op.f("ck_job_known_state")
        ),
        _fk("job", "shop_id", "shop.id"),
        _fk("job", "person_id", "person.id"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
    )
    op.create_index(op.f("ix_job_state_id"), "job", ["state", "id"])


def _make_search(sqlite: bool) -> None:
    if sqlite:
        op.execute(
            "CREATE VIRTUAL TABLE item_search USING fts5(words, "
            "tokenize = 'porter unicode61 remove_diacritics 2', prefix = '3')"
        )
    else:
        op.execute(
            "CREATE TABLE item_search (item_id bigint PRIMARY KEY REFERENCES bank_item (id), "
            "words tsvector NOT NULL)"
        )
        op.execute("CREATE INDEX ix_item_search_words ON item_search USING gin (words)")


def _fill_cards(sqlite: bool) -> None:
    """Give the items that are there already their cards."""
    bind = op.get_bind()
    rows = bind.execute(
        sa.text(
            "SELECT i.id AS item_id, i.bank_id, i.entry, b.shop_id, v.topic, v.level, v.kind, "
            "v.state, v.version, v.content, v.author_id, v.stored_at, v.current "
            "FROM bank_item i JOIN bank b ON b.id = i.bank_id "
            "JOIN bank_item_version v ON v.item_id = i.id ORDER BY i.id, v.version"
        )
    ).mappings()
    newest: dict[int, dict[str, object]] = {}
    for row in rows:
        card = dict(row)
        before = newest.get(card["item_id"], {})
        offered = card["version"] if card["current"] and card["state"] == "approved" else None
        newest[card["item_id"]] = card | {"offered": offered or before.get("offered")}
    for card in newest.values():
        _put_card(bind, card, sqlite)


def _put_card(bind: sa.Connection, card: dict[str, object], sqlite: bool) -> None:
    item = json.loads(str(card["content"]))["item"]
    values = card | {
        "prompt": item["prompt"],
        "ref": f"bank:{card['bank_id']}/{card['entry']}",
        "words": "\n".join(_strings(item)),
    }
    bind.execute(
        sa.text(
            "INSERT INTO item_card (item_id, item_ref, bank_id, shop_id, topic, level, kind, "
            "state, version, offered_version, prompt, author_id, changed_at) VALUES (:item_id, "
            ":ref, :bank_id, :shop_id, :topic, :level, :kind, :state, :version, :offered, "
            ":prompt, :author_id, :stored_at)"
        ),
        values,
    )
    put = (
        "(rowid, words) VALUES (:item_id, :words)"
        if sqlite
        else "(item_id, words) VALUES (:item_id, to_tsvector('english', :words))"
    )
    bind.execute(sa.text(f"INSERT INTO item_search {put}"), values)


def _strings(value: object) -> list[str]:
    if isinstance(value, str):
        return [value] if value else []
    parts = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [text for part in parts for text in _strings(part)]
