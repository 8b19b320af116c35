"""Group drills, coaches with their students, homework, and what members chose about messages."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision: str | None = "0003"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    _add_to_server()
    _add_to_member()
    op.create_table(
        "exercise",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("scoring", sa.String(), nullable=False),
        sa.Column("at_least", sa.SmallInteger(), nullable=False),
        sa.Column("daily_cap", sa.SmallInteger(), nullable=False),
        sa.Column("goal", sa.String(), nullable=False),
        sa.Column("dummy", sa.String(), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_exercise_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_exercise"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_exercise_server_id", "exercise", ["server_id"])
    op.create_table(
        "series",
        sa.Column("server_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("channel_id", BIG_ID, nullable=False),
        sa.Column("weekday", sa.SmallInteger(), nullable=False),
        sa.Column("at", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_series_server_id_server"),
        sa.PrimaryKeyConstraint("server_id", name="pk_series"),
    )
    op.create_table(
        "coach_note",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("coach_id", BIG_ID, nullable=False),
        sa.Column("student_id", BIG_ID, nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("text", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["coach_id"], ["member.id"], name="fk_coach_note_coach_id_member"),
        sa.ForeignKeyConstraint(["student_id"], ["member.id"], name="fk_coach_note_student_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_coach_note"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_coach_note_coach_id_student_id_id", "coach_note", ["coach_id", "student_id", "id"])
    op.create_index("ix_coach_note_student_id", "coach_note", ["student_id"])
    op.create_table(
        "coaching",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("coach_id", BIG_ID, nullable=False),
        sa.Column("student_id", BIG_ID, nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("accepted_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["coach_id"], ["member.id"], name="fk_coaching_coach_id_member"),
        sa.ForeignKeyConstraint(["student_id"], ["member.id"], name="fk_coaching_student_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_coaching"),
        sa.UniqueConstraint("coach_id", "student_id", name="uq_coaching_coach_id_student_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_coaching_student_id", "coaching", ["student_id"])
    op.create_table(
        "drill",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("scoring", sa.String(), nullable=False),
        sa.Column("at_least", sa.SmallInteger(), nullable=False),
        sa.Column("daily_cap", sa.SmallInteger(), nullable=False),
        sa.Column("goal", sa.String(), nullable=False),
        sa.Column("dummy", sa.String(), nullable=False),
        sa.Column("weekly", sa.Boolean(), nullable=False),
        sa.Column("channel_id", BIG_ID, nullable=False),
        sa.Column("opens_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closes_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("opened_by", BIG_ID),
        sa.ForeignKeyConstraint(["opened_by"], ["member.id"], name="fk_drill_opened_by_member"),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_drill_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_drill"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_drill_opened_by", "drill", ["opened_by"])
    op.create_index("ix_drill_server_id_stage_id", "drill", ["server_id", "stage", "id"])
    op.create_index("ix_drill_stage", "drill", ["stage"])
    op.create_table(
        "homework",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("coach_id", BIG_ID),
        sa.Column("student_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("target", sa.String(), nullable=False),
        sa.Column("amount", sa.Integer(), nullable=False),
        sa.Column("rate", sa.Float()),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("set_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("handed_in_at", sa.DateTime(timezone=True)),
        sa.Column("hand_in_note", sa.String(), nullable=False),
        sa.Column("clip", sa.String(), nullable=False),
        sa.Column("reviewed_at", sa.DateTime(timezone=True)),
        sa.Column("review_note", sa.String(), nullable=False),
        sa.Column("easier", sa.String()),
        sa.ForeignKeyConstraint(["coach_id"], ["member.id"], name="fk_homework_coach_id_member"),
        sa.ForeignKeyConstraint(["student_id"], ["member.id"], name="fk_homework_student_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_homework"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_homework_coach_id_stage_id", "homework", ["coach_id", "stage", "id"])
    op.create_index("ix_homework_student_id_stage_id", "homework", ["student_id", "stage", "id"])
    op.create_table(
        "clip_comment",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("homework_id", BIG_ID, nullable=False),
        sa.Column("at_seconds", sa.Integer()),
        sa.Column("text", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["homework_id"], ["homework.id"], name="fk_clip_comment_homework_id_homework"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_clip_comment"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_clip_comment_homework_id", "clip_comment", ["homework_id"])
    op.create_table(
        "entry",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("drill_id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("joined_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("left_it", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name="fk_entry_drill_id_drill"),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_entry_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_entry"),
        sa.UniqueConstraint("drill_id", "owner_id", name="uq_entry_drill_id_owner_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_entry_owner_id", "entry", ["owner_id"])
    op.create_table(
        "drill_tally",
        sa.Column("tally_id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("drill_id", BIG_ID, nullable=False),
        sa.Column("run", sa.SmallInteger()),
        sa.Column("seen_by", BIG_ID),
        sa.Column("seen_at", sa.DateTime(timezone=True)),
        sa.Column("struck_by", BIG_ID),
        sa.Column("struck_at", sa.DateTime(timezone=True)),
        sa.Column("reason", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["drill_id"], ["drill.id"], name="fk_drill_tally_drill_id_drill"),
        sa.ForeignKeyConstraint(["seen_by"], ["member.id"], name="fk_drill_tally_seen_by_member"),
        sa.ForeignKeyConstraint(["struck_by"], ["member.id"], name="fk_drill_tally_struck_by_member"),
        sa.ForeignKeyConstraint(["tally_id"], ["tally.id"], name="fk_drill_tally_tally_id_tally"),
        sa.PrimaryKeyConstraint("tally_id", name="pk_drill_tally"),
    )
    op.create_index("ix_drill_tally_drill_id", "drill_tally", ["drill_id"])
    op.create_index("ix_drill_tally_seen_by", "drill_tally", ["seen_by"])
    op.create_index("ix_drill_tally_struck_by", "drill_tally", ["struck_by"])


def _add_to_server() -> None:
    # Made anew by hand, here and below: a column that is added stands elsewhere in the statement.
    op.create_table(
        "server_with_roles",
        sa.Column("id", BIG_ID, autoincrement=False, nullable=False),
        sa.Column("game", sa.String()),
        sa.Column("zone", sa.String()),
        sa.Column("coach_role", BIG_ID),
        sa.Column("notice_channel", BIG_ID),
        sa.PrimaryKeyConstraint("id", name="pk_server"),
    )
    op.execute("INSERT INTO server_with_roles (id, game, zone) SELECT id, game, zone FROM server")
    op.drop_table("server")
    op.rename_table("server_with_roles", "server")


def _add_to_member() -> None:
    kept = "id, server_id, member_id, character, goal, side, controller, controls"
    op.create_table(
        "member_with_choices",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("member_id", BIG_ID, nullable=False),
        sa.Column("character", sa.String()),
        sa.Column("goal", sa.Float()),
        sa.Column("side", sa.String()),
        sa.Column("controller", sa.String()),
        sa.Column("controls", sa.String()),
        sa.Column("zone", sa.String()),
        sa.Column("quiet", sa.String()),
        sa.Column("listed", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.Column("muted", sa.Boolean(), server_default=sa.false(), nullable=False),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_member_server_id_server"),
        sa.PrimaryKeyConstraint("id", name="pk_member"),
        sa.UniqueConstraint("server_id", "member_id", name="uq_member_server_id_member_id"),
        sqlite_autoincrement=True,
    )
    op.execute(f"INSERT INTO member_with_choices ({kept}) SELECT {kept} FROM member")
    op.drop_table("member")
    op.rename_table("member_with_choices", "member")
