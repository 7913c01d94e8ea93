"""The texts that every proposal carries, read from the data that ships with the app."""

import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from firm.measure.money import format_money
from firm.models import FirmProfile

PATH = Path(__file__).resolve().parent.parent / "data" / "proposal_texts.toml"


@dataclass(frozen=True, kw_only=True, slots=True)
class ProposalTexts:
    """The shipped texts, filled in for one firm."""

    exclusions: tuple[str, ...]
    cautions: tuple[str, ...]
    pool_caution: str
    no_pool_caution: str
    voided_by: tuple[str, ...]
    how_to_accept: tuple[str, ...]


@cache
def _shipped() -> dict[str, str | list[str]]:
    return tomllib.loads(PATH.read_text(encoding="utf-8"))


def consent_text(*, on_paper: bool = False) -> str:
    """Return what a customer consents to when accepting."""
    return str(_shipped()["paper_consent" if on_paper else "consent"])


def texts_for(firm: FirmProfile) -> ProposalTexts:
    """Return the shipped texts with the firm's name and its price for a hole in rock."""

    def filled(text: str) -> str:
        return text.replace("{firm}", firm.name or "The firm").replace(
            "{rock_hole_price}", format_money(firm.rock_hole_price)
        )

    def many(key: str) -> tuple[str, ...]:
        return tuple(filled(text) for text in _shipped()[key])

    return ProposalTexts(
        exclusions=many("exclusions"),
        cautions=many("cautions"),
        pool_caution=filled(str(_shipped()["pool_caution"])),
        no_pool_caution=filled(str(_shipped()["no_pool_caution"])),
        voided_by=many("voided_by"),
        how_to_accept=many("how_to_accept"),
    )
