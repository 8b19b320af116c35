"""Members and servers with their settings, what is practised, tallies and their sums, routes, and events."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision: str | None = None

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "event",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_event"),
    )
    op.create_index("ix_event_seen_at", "event", ["seen_at"])
    op.create_table(
        "server",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("game", sa.String()),
        sa.Column("zone", sa.String()),
        sa.PrimaryKeyConstraint("id", name="pk_server"),
    )
    op.create_table(
        "member",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("member_id", BIG_ID, nullable=False),
        sa.Column("character", sa.String()),
        sa.Column("goal", sa.Float()),
        sa.Column("side", sa.String()),
        sa.Column("controller", sa.String()),
        sa.Column("controls", sa.String()),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_member_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_member"),
        sa.UniqueConstraint("server_id", "member_id", name="uq_member_server_id_member_id"),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "route",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("game_version", sa.String(), nullable=False),
        sa.Column("notation", sa.String(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_route_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_route"),
        sa.UniqueConstraint(
            "owner_id", "game", "character", "name", name="uq_route_owner_id_game_character_name"
        ),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "subject",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_subject_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_subject"),
        sa.UniqueConstraint(
            "owner_id",
            "game",
            "character",
            "kind",
            "what",
            name="uq_subject_owner_id_game_character_kind_what",
        ),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "tally",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("subject_id", BIG_ID, nullable=False),
        sa.Column("event_id", BIG_ID),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("logged_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("context", sa.String(), nullable=False),
        sa.Column("presses", sa.SmallInteger(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("landed", sa.Integer(), nullable=False),
        sa.Column("early", sa.Integer(), nullable=False),
        sa.Column("late", sa.Integer(), nullable=False),
        sa.Column("wrong_state", sa.Integer(), nullable=False),
        sa.Column("too_far", sa.Integer(), nullable=False),
        sa.Column("wrong_direction", sa.Integer(), nullable=False),
        sa.Column("motion_failed", sa.Integer(), nullable=False),
        sa.Column("no_gauge", sa.Integer(), nullable=False),
        sa.Column("mashed", sa.Integer(), nullable=False),
        sa.Column("side", sa.String()),
        sa.Column("controller", sa.String()),
        sa.Column("controls", sa.String()),
        sa.Column("gap_frames", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("game_version", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_tally_owner_id_member"),
        sa.ForeignKeyConstraint(["subject_id"], ["subject.id"], name="fk_tally_subject_id_subject"),
        sa.PrimaryKeyConstraint("id", name="pk_tally"),
        sa.UniqueConstraint("event_id", name="uq_tally_event_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_tally_owner_id_undone_id", "tally", ["owner_id", "undone", "id"])
    op.create_index("ix_tally_owner_id_undone_made_at_id", "tally", ["owner_id", "undone", "made_at", "id"])
    op.create_index("ix_tally_subject_id_undone_id", "tally", ["subject_id", "undone", "id"])
    op.create_index(
        "ix_tally_subject_id_undone_made_at_id", "tally", ["subject_id", "undone", "made_at", "id"]
    )
    op.create_table(
        "total",
        sa.Column("subject_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("context", sa.String(), nullable=False),
        sa.Column("tallies", sa.Integer(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("landed", sa.Integer(), nullable=False),
        sa.Column("early", sa.Integer(), nullable=False),
        sa.Column("late", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["subject_id"], ["subject.id"], name="fk_total_subject_id_subject"),
        sa.PrimaryKeyConstraint("subject_id", "context", name="pk_total"),
        sqlite_with_rowid=False,
    )
