"""Lets the database itself refuse changes of rows that are kept for ever: for migrations.

The models refuse too, but a bulk update, a raw query or another program passes them by. A later
migration that alters such a table must lay the triggers anew: SQLite drops them with the table
that Django copies.
"""

from collections.abc import Sequence

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


def keep_settled_rows(
    table: str, *, settled: str, columns: Sequence[str], filled_once: Sequence[str] = ()
) -> RunPython:
    """Return the step that guards rows from when they are settled, such as invoices once issued.

    `settled` is a condition on a row, written with `{row}` before each column. From then on
    `columns` never change, those in `filled_once` no more once they hold something, and the row
    stays settled. On PostgreSQL it can't be deleted either, as with `keep_rows`.
    """

    def lay(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        is_other = "IS DISTINCT FROM" if _is_postgresql(editor) else "IS NOT"
        changed = [f'NEW."{name}" {is_other} OLD."{name}"' for name in columns]
        changed += [
            f'OLD."{name}" <> \'\' AND NEW."{name}" {is_other} OLD."{name}"' for name in filled_once
        ]
        changed.append(f"NOT ({settled.format(row='NEW.')})")
        was_settled = settled.format(row="OLD.")
        _lay(editor, table, f"{table}_is_settled", "UPDATE", f"{was_settled} AND ({_any(changed)})")
        if _is_postgresql(editor):
            _lay(editor, table, f"{table}_stays", "DELETE", was_settled)

    def take_away(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        _drop(editor, table, f"{table}_is_settled")
        if _is_postgresql(editor):
            _drop(editor, table, f"{table}_stays")

    return RunPython(lay, take_away)


def keep_parts_of_settled(table: str, *, parent: str, link: str, settled: str) -> RunPython:
    """Return the step that guards rows that belong to a settled one, such as an invoice's lines.

    They are neither changed nor, on PostgreSQL, deleted. A row may still be added: what reads a
    backup back writes the settled row first. The model refuses that to everyone else.
    """
    is_settled = settled.format(row=f"{parent}.")
    # The names are those of our migrations.
    found = f'EXISTS (SELECT 1 FROM {parent} WHERE id = OLD."{link}" AND {is_settled})'  # noqa: S608
    function = f"refuse_change_of_{table}"

    def lay(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        if not _is_postgresql(editor):
            _lay(editor, table, f"{table}_is_settled", "UPDATE", found)
            return
        # Its WHEN may not look into another table.
        editor.execute(
            f"CREATE FUNCTION {function}() RETURNS trigger AS $$ BEGIN IF {found} THEN "
            "RAISE EXCEPTION 'Rows of % are kept for ever as they are.', TG_TABLE_NAME "
            "USING ERRCODE = 'integrity_constraint_violation'; END IF; "
            "IF TG_OP = 'DELETE' THEN RETURN OLD; END IF; RETURN NEW; END $$ LANGUAGE plpgsql",
            None,
        )
        editor.execute(
            f"CREATE TRIGGER {table}_is_settled BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION {function}()",
            None,
        )

    def take_away(_apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
        _drop(editor, table, f"{table}_is_settled")
        if _is_postgresql(editor):
            editor.execute(f"DROP FUNCTION {function}()", None)

    return RunPython(lay, take_away)


def _any(conditions: Sequence[str]) -> str:
    return " OR ".join(f"({each})" for each in conditions)


def _is_postgresql(editor: BaseDatabaseSchemaEditor) -> bool:
    return editor.connection.vendor == "postgresql"


def _lay(
    editor: BaseDatabaseSchemaEditor, table: str, name: str, event: str, condition: str
) -> None:
    """Lay one trigger that refuses an event where the condition on OLD and NEW holds."""
    head = f"CREATE TRIGGER {name} BEFORE {event} ON {table} FOR EACH ROW WHEN ({condition})"
    if _is_postgresql(editor):
        # No parameters: a percent sign is just one.
        editor.execute(POSTGRESQL_FUNCTION, None)
        editor.execute(f"{head} EXECUTE FUNCTION refuse_change()", None)
    else:
        editor.execute(f"{head} BEGIN {_refusal(table)} END", None)


def _drop(editor: BaseDatabaseSchemaEditor, table: str, name: str) -> None:
    editor.execute(f"DROP TRIGGER {name}" + (f" ON {table}" if _is_postgresql(editor) else ""))


def _refusal(table: str) -> str:
    return f"SELECT RAISE(ABORT, 'Rows of {table} are kept for ever as they are.');"


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
    return [f"{head} BEGIN {_refusal(table)} END" for head in heads]
