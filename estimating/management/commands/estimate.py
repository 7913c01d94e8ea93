"""Estimates a site document from a file, without touching the database unless it is asked to."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from estimating.engine import reading
from estimating.engine.errors import EngineError
from estimating.engine.estimate import estimate
from estimating.engine.explain import explain
from estimating.management.estimate_text import render
from estimating.mapping import firm_catalog_data, to_plain
from estimating.services.estimate_pdf import render_estimate_pdf
from estimating.starter import load_starter_data
from firm.models import FirmProfile
from firm.selectors.profile import firm_profile

WRONG_FILE = 2


class Command(BaseCommand):
    help = "Print sections, posts, bays, quantities, hours, price and findings of a site document."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("site", metavar="SITE.json", type=Path)
        parser.add_argument("--pdf", metavar="FILE", type=Path, help="write the proposal here too")
        parser.add_argument(
            "--json",
            action="store_true",
            help="print the whole result, and where each figure comes from, as JSON",
        )
        parser.add_argument(
            "--firm", action="store_true", help="use the firm's own systems, prices and rates"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        document = _read(options["site"])
        base = (
            firm_catalog_data(today=timezone.localdate())
            if options["firm"]
            else load_starter_data()
        )
        try:
            site = reading.read_site(document, leave_out=True)
            catalog = reading.read_catalog(
                reading.merge_catalog_data(base, document), leave_out=True
            )
            overrides = reading.read_overrides(document)
            reading.check_overrides(catalog, overrides)
            result = estimate(
                site,
                catalog,
                typed=reading.read_typed_lines(document),
                overrides=overrides,
            )
        except EngineError as error:
            raise _refusal(options["site"], str(error), field=error.field) from error
        if options["pdf"]:
            firm = firm_profile() if options["firm"] else FirmProfile(name="Your firm")
            pdf = render_estimate_pdf(
                result=result, site=site, catalog=catalog, firm=firm, today=timezone.localdate()
            )
            _write(options["pdf"], pdf)
        if options["json"]:
            explained = explain(result, catalog, overrides=overrides)
            whole = {**to_plain(result), "explanation": to_plain(explained)}
            self.stdout.write(json.dumps(whole, indent=2))
        else:
            self.stdout.write(render(result, site, catalog), ending="")


def _read(path: Path) -> dict[str, Any]:
    """Read a file that holds one JSON object."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise _refusal(path, error.strerror or "It can't be read.") from error
    except UnicodeDecodeError as error:
        raise _refusal(path, "It is not text in UTF-8.") from error
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise _refusal(path, f"It is not JSON: {error.msg} at {place}.") from error
    except RecursionError as error:
        raise _refusal(path, "It is nested too deeply.") from error
    if not isinstance(document, dict):
        raise _refusal(path, "A site document is one JSON object.")
    return document


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as error:
        raise _refusal(path, error.strerror or "It can't be written.") from error


def _refusal(path: Path, message: str, *, field: str = "") -> CommandError:
    where = f"{path}: {field}: " if field else f"{path}: "
    return CommandError(where + message, returncode=WRONG_FILE)
