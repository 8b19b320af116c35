"""A server's own games, their versions, and what moderators and coaches did."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision: str | None = "0004"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    _add_to_server()
    _add_games()
    _add_what_was_done()


def _add_games() -> None:
    op.create_table(
        "edition",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("content", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("made_by", BIG_ID),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["made_by"], ["member.id"], name="fk_edition_made_by_member"),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_edition_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_edition"),
        sa.UniqueConstraint("server_id", "game", "version", name="uq_edition_server_id_game_version"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_edition_made_by", "edition", ["made_by"])
    op.create_table(
        "game",
        sa.Column("server_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("edition_id", BIG_ID, nullable=False),
        sa.ForeignKeyConstraint(["edition_id"], ["edition.id"], name="fk_game_edition_id_edition"),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_game_server_id_server"),
        sa.PrimaryKeyConstraint("server_id", "game", name="pk_game"),
        sqlite_with_rowid=False,
    )
    op.create_index("ix_game_edition_id", "game", ["edition_id"])
    op.create_table(
        "channel",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_channel_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_channel"),
    )
    op.create_index("ix_channel_server_id", "channel", ["server_id"])
    op.create_table(
        "upload",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("files", sa.String(), nullable=False),
        sa.Column("columns", sa.String(), nullable=False),
        sa.Column("character", sa.String()),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_upload_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_upload"),
        sa.UniqueConstraint("owner_id", name="uq_upload_owner_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_upload_made_at", "upload", ["made_at"])


def _add_what_was_done() -> None:
    op.create_table(
        "report",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("version", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("input", sa.String(), nullable=False),
        sa.Column("column", sa.String(), nullable=False),
        sa.Column("found", sa.String(), nullable=False),
        sa.Column("right", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("decided_by", BIG_ID),
        sa.Column("decided_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["decided_by"], ["member.id"], name="fk_report_decided_by_member"),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_report_owner_id_member"),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_report_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_report"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_report_decided_by", "report", ["decided_by"])
    op.create_index("ix_report_owner_id", "report", ["owner_id"])
    op.create_index("ix_report_server_id_stage_id", "report", ["server_id", "stage", "id"])
    op.create_table(
        "patch_notice",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("edition_id", BIG_ID, nullable=False),
        sa.Column("before_id", BIG_ID, nullable=False),
        sa.ForeignKeyConstraint(["before_id"], ["edition.id"], name="fk_patch_notice_before_id_edition"),
        sa.ForeignKeyConstraint(["edition_id"], ["edition.id"], name="fk_patch_notice_edition_id_edition"),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_patch_notice_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_patch_notice"),
        sa.UniqueConstraint(
            "edition_id", "before_id", "owner_id", name="uq_patch_notice_edition_id_before_id_owner_id"
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_patch_notice_before_id", "patch_notice", ["before_id"])
    op.create_index("ix_patch_notice_owner_id", "patch_notice", ["owner_id"])
    op.create_table(
        "audit",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("made_by", BIG_ID),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("deed", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["made_by"], ["member.id"], name="fk_audit_made_by_member"),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_audit_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_audit"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_audit_made_at", "audit", ["made_at"])
    op.create_index("ix_audit_made_by", "audit", ["made_by"])
    op.create_index("ix_audit_server_id_id", "audit", ["server_id", "id"])


def _add_to_server() -> None:
    # Made anew by hand: a column that is added stands elsewhere in the statement.
    op.create_table(
        "server_set_up",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("game", sa.String()),
        sa.Column("zone", sa.String()),
        sa.Column("coach_role", BIG_ID),
        sa.Column("notice_channel", BIG_ID),
        sa.Column("moderator_role", BIG_ID),
        sa.Column("patch_channel", BIG_ID),
        sa.Column("notation", sa.String()),
        sa.Column("quiet", sa.String()),
        sa.Column("keep_days", sa.Integer()),
        sa.PrimaryKeyConstraint("id", name="pk_server"),
    )
    kept = "id, game, zone, coach_role, notice_channel"
    op.execute(f"INSERT INTO server_set_up ({kept}) SELECT {kept} FROM server")
    op.drop_table("server")
    op.rename_table("server_set_up", "server")
