"""Tags of saved routes, the routes shared in a server, conversions and their quiz."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision: str | None = "0001"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    # Made anew by hand: alembic's batch writes the constraints in another order each time.
    kept = "id, owner_id, game, character, name, game_version, notation, saved_at"
    op.create_table(
        "route_with_tags",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("game_version", sa.String(), nullable=False),
        sa.Column("notation", sa.String(), nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("tags", sa.String(), nullable=False, server_default=sa.text("''")),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_route_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_route"),
        sa.UniqueConstraint(
            "owner_id", "game", "character", "name", name="uq_route_owner_id_game_character_name"
        ),
        sqlite_autoincrement=True,
    )
    op.execute(f"INSERT INTO route_with_tags ({kept}) SELECT {kept} FROM route")
    op.drop_table("route")
    op.rename_table("route_with_tags", "route")
    op.create_table(
        "library",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("server_id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("game_version", sa.String(), nullable=False),
        sa.Column("notation", sa.String(), nullable=False),
        sa.Column("tags", sa.String(), nullable=False),
        sa.Column("shared_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["server_id"], ["server.id"], name="fk_library_server_id_server"),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_library_owner_id_member"),
        sa.PrimaryKeyConstraint("id", name="pk_library"),
        sa.UniqueConstraint(
            "server_id", "game", "character", "name", name="uq_library_server_id_game_character_name"
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_library_owner_id", "library", ["owner_id"])
    op.create_table(
        "conversion",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("game", sa.String(), nullable=False),
        sa.Column("character", sa.String(), nullable=False),
        sa.Column("starter", sa.String(), nullable=False),
        sa.Column("situation", sa.String(), nullable=False),
        sa.Column("route_id", BIG_ID, nullable=False),
        sa.Column("step", sa.SmallInteger(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True)),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_conversion_owner_id_member"),
        sa.ForeignKeyConstraint(["route_id"], ["route.id"], name="fk_conversion_route_id_route"),
        sa.PrimaryKeyConstraint("id", name="pk_conversion"),
        sa.UniqueConstraint(
            "owner_id",
            "game",
            "character",
            "starter",
            "situation",
            name="uq_conversion_owner_id_game_character_starter_situation",
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_conversion_route_id", "conversion", ["route_id"])
    op.create_table(
        "quiz",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("owner_id", BIG_ID, nullable=False),
        sa.Column("conversion_id", BIG_ID, nullable=False),
        sa.Column("route_ids", sa.String(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["owner_id"], ["member.id"], name="fk_quiz_owner_id_member"),
        sa.ForeignKeyConstraint(
            ["conversion_id"], ["conversion.id"], name="fk_quiz_conversion_id_conversion"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_quiz"),
        sa.UniqueConstraint("owner_id", name="uq_quiz_owner_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_quiz_conversion_id", "quiz", ["conversion_id"])
