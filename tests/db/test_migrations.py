"""Migrations are named for what they do and can be taken back."""

import re

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

OURS = {"firm", "estimating", "scheduling"}


def test_every_migration_is_named_for_what_it_does() -> None:
    names = [name for app, name in MigrationLoader(None).disk_migrations if app in OURS]

    assert names
    assert [name for name in names if re.search(r"_auto_|_initial$|^\d+_\w{0,3}$", name)] == []


def test_every_step_of_every_migration_can_be_taken_back() -> None:
    migrations = MigrationLoader(None).disk_migrations

    one_way = [
        f"{app}.{name}: {operation.describe()}"
        for (app, name), migration in migrations.items()
        if app in OURS
        for operation in migration.operations
        if not operation.reversible
    ]

    assert one_way == []


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_tables_of_estimating_go_and_come_back() -> None:
    call_command("migrate", "estimating", "zero", verbosity=0)
    assert "estimating_estimate" not in connection.introspection.table_names()

    call_command("migrate", verbosity=0)
    assert "estimating_estimate" in connection.introspection.table_names()
