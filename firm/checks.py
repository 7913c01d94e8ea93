"""System checks: settings that each make sense but not together."""

import os
from collections.abc import Sequence
from typing import Any
from urllib.parse import urlsplit

from django.apps import AppConfig
from django.conf import settings
from django.core import checks
from django.core.checks import CheckMessage, Error, Tags, register
from django.http.request import validate_host

from firm import env

# The checks that every start runs; the others import all pages, which takes a second.
START = "start"


@register(START, Tags.files)
def var_is_writable(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    if os.access(settings.FF_VAR, os.W_OK | os.X_OK):
        return []
    return [
        Error(
            f"The data folder {settings.FF_VAR} cannot be written to.",
            hint="Give it to the user that runs the app, or set FF_VAR to another folder.",
            id="firm.E001",
        )
    ]


@register(START)
def public_address_is_answered(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    host = urlsplit(settings.FF_PUBLIC_URL).netloc.rsplit(":", 1)[0]
    if validate_host(host, settings.ALLOWED_HOSTS):
        return []
    return [
        Error(
            f"Links in mails lead to {settings.FF_PUBLIC_URL}, but {host} is not answered.",
            hint=f"Add {host} to FF_ALLOWED_HOSTS.",
            id="firm.E002",
        )
    ]


@register(START)
def public_address_matches_https(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    scheme = "https" if settings.FF_HTTPS else "http"
    if urlsplit(settings.FF_PUBLIC_URL).scheme == scheme:
        return []
    return [
        Error(
            f"FF_HTTPS is {int(settings.FF_HTTPS)}, but FF_PUBLIC_URL is {settings.FF_PUBLIC_URL}.",
            hint=f"Let FF_PUBLIC_URL begin with {scheme}://, or change FF_HTTPS.",
            id="firm.E003",
        )
    ]


@register(START)
def every_variable_is_read(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    return [
        checks.Warning(
            f"No setting reads {name}.",
            hint="Correct its name (README.md lists them) or remove it.",
            id="firm.W001",
        )
        for name in env.unknown_names()
    ]


@register(Tags.security, deploy=True)
def mail_leaves_the_machine(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    if settings.EMAIL_HOST:
        return []
    return [
        checks.Warning(
            f"Mail is kept in {settings.EMAIL_FILE_PATH} and sent to nobody.",
            hint="Set FF_EMAIL_HOST, or go on sending the links by hand.",
            id="firm.W002",
        )
    ]
