"""What a PostgreSQL database tells the processes that share it: each change of what they hold in memory, from
the transaction that makes it, once it is committed. A SQLite database has one process, and tells nothing."""

from __future__ import annotations

from sqlalchemy import Connection, MetaData, event

from bot.storage.base import metadata

CHANNEL = "cornerman"
"""What PostgreSQL calls the channel; each database has its own."""

KEYS = {
    "server": "id",
    "member": "server_id member_id",
    "drill": "id",
    "game": "server_id",
    "channel": "id",
}
"""The tables that are held, each with the columns that say which row it is, as whoever reads it anew asks
for it. A change is told as the table's name and their values, with spaces between."""

# A row is told by its old values where it is gone. Several times the same in one transaction is told once.
TELL = f"""
CREATE OR REPLACE FUNCTION cornerman_tell() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
    row_values jsonb := to_jsonb(COALESCE(NEW, OLD));
    said text := TG_TABLE_NAME;
    name text;
BEGIN
    FOREACH name IN ARRAY string_to_array(TG_ARGV[0], ' ') LOOP
        said := said || ' ' || (row_values ->> name);
    END LOOP;
    PERFORM pg_notify('{CHANNEL}', said);
    RETURN NULL;
END $$"""

# The student, as `member` names them: whoever erases one removes the coachings first.
TELL_STUDENT = f"""
CREATE OR REPLACE FUNCTION cornerman_tell_student() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('{CHANNEL}', 'coaching ' || server_id || ' ' || member_id)
    FROM member WHERE id = (COALESCE(NEW, OLD)).student_id;
    RETURN NULL;
END $$"""

# When the job is due, in microseconds since 1970.
TELL_JOB = f"""
CREATE OR REPLACE FUNCTION cornerman_tell_job() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
    PERFORM pg_notify('{CHANNEL}', 'job ' || floor(extract(epoch FROM NEW.due_at) * 1000000)::bigint);
    RETURN NULL;
END $$"""


def _trigger(table: str, when: str, function: str) -> str:
    return f"CREATE TRIGGER cornerman_told AFTER {when} ON {table} FOR EACH ROW EXECUTE FUNCTION {function}"


ANY_CHANGE = "INSERT OR UPDATE OR DELETE"
STATEMENTS = (
    TELL,
    TELL_STUDENT,
    TELL_JOB,
    *(_trigger(table, ANY_CHANGE, f"cornerman_tell('{keys}')") for table, keys in KEYS.items()),
    _trigger("coaching", ANY_CHANGE, "cornerman_tell_student()"),
    _trigger("job", "INSERT OR UPDATE OF due_at", "cornerman_tell_job()"),
)


@event.listens_for(metadata, "after_create")
def _make_triggers(_tables: MetaData, connection: Connection, **_: object) -> None:
    if connection.dialect.name == "postgresql":
        for statement in STATEMENTS:
            connection.exec_driver_sql(statement)
