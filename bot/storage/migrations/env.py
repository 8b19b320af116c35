"""How Alembic runs a migration here: inside the transaction of the connection that it is given."""

from __future__ import annotations

from alembic import context

from bot.storage.schema import metadata

if (
    __name__ == "env_py"
):  # the name that Alembic runs it under; imported otherwise, there is nothing to migrate
    context.configure(
        connection=context.config.attributes["connection"], target_metadata=metadata, render_as_batch=True
    )
    context.run_migrations()
