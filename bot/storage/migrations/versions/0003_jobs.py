"""Work that is due at some moment, and the posts that it makes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision: str | None = "0002"

BIG_ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    op.create_table(
        "job",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("due_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("payload", sa.String(), nullable=False),
        sa.Column("server_id", BIG_ID),
        sa.Column("lease_until", sa.DateTime(timezone=True)),
        sa.Column("claimed_by", sa.String()),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("done_at", sa.DateTime(timezone=True)),
        sa.PrimaryKeyConstraint("id", name="pk_job"),
        sa.UniqueConstraint("key", name="uq_job_key"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_job_done_at_lease_until_due_at_id", "job", ["done_at", "lease_until", "due_at", "id"])
    op.create_table(
        "post",
        sa.Column("id", BIG_ID, nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("channel_id", BIG_ID, nullable=False),
        sa.Column("message_id", BIG_ID),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True)),
        sa.PrimaryKeyConstraint("id", name="pk_post"),
        sa.UniqueConstraint("key", name="uq_post_key"),
        sqlite_autoincrement=True,
    )
