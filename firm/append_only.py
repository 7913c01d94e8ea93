"""Lets the database itself refuse changes of rows that are kept for ever: for migrations.

The models refuse too, but a bulk update, a raw query or another program passes them by. A later
migration that alters such a table must lay the triggers anew: SQLite drops them with the table
that Django copies.
"""

from django.apps.registry import Apps
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations import RunPython

POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION refuse_change() RETURNS trigger AS $$
BEGIN
    RAISE EXCEPTION 'Rows of % are kept for ever as they are.', TG_TABLE_NAME
        USING ERRCODE = 'integrity_constraint_violation';
END
$$ LANGUAGE plpgsql
"""


def keep_rows(table: str, *, person: str) -> RunPython:
    """Return the step that guards a table; only its column `person` may become empty.

    That happens where a log-in is deleted. On PostgreSQL rows can't be deleted either. SQLite
    knows no TRUNCATE: there Django empties tables row by row between tests, so only the models
    refuse it.
    """

    def lay(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        for statement in _statements(table, person, editor):
            # No parameters: a percent sign is just one.
            editor.execute(statement, None)

    def take_away(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        is_postgresql = editor.connection.vendor == "postgresql"
        names = [*_names(table), *([f"{table}_is_kept"] if is_postgresql else [])]
        for name in names:
            editor.execute(f"DROP TRIGGER {name}" + (f" ON {table}" if is_postgresql else ""))

    return RunPython(lay, take_away)


def _names(table: str) -> tuple[str, str]:
    return f"{table}_is_not_changed", f"{table}_names_no_other"


def _statements(table: str, person: str, editor: BaseDatabaseSchemaEditor) -> list[str]:
    connection = editor.connection
    with connection.cursor() as cursor:
        described = connection.introspection.get_table_description(cursor, table)
    columns = ", ".join(f'"{column.name}"' for column in described if column.name != person)
    whole, other = _names(table)
    heads = [
        f"CREATE TRIGGER {whole} BEFORE UPDATE OF {columns} ON {table} FOR EACH ROW",
        f'CREATE TRIGGER {other} BEFORE UPDATE OF "{person}" ON {table} FOR EACH ROW '
        f'WHEN (NEW."{person}" IS NOT NULL)',
    ]
    if connection.vendor == "postgresql":
        heads.append(f"CREATE TRIGGER {table}_is_kept BEFORE DELETE ON {table} FOR EACH ROW")
        return [
            POSTGRESQL_FUNCTION,
            *(f"{head} EXECUTE FUNCTION refuse_change()" for head in heads),
        ]
    refusal = f"SELECT RAISE(ABORT, 'Rows of {table} are kept for ever as they are.');"
    return [f"{head} BEGIN {refusal} END" for head in heads]
