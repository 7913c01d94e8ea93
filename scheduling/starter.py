"""The starter set scheduling begins with: how concrete hardens, how long posts wait in it."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from scheduling.engine.cure import CureMix, CureTable, CureWait, Work
from scheduling.engine.maturity import MaturityRule, Method, StrengthCurve

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True, kw_only=True, slots=True)
class Hardening:
    """How warmth counts, and the strength curves of cements by their keys."""

    rule: MaturityRule
    curves: Mapping[str, StrengthCurve]


def load_hardening() -> Hardening:
    """Return how concrete gains strength, as a new installation begins."""
    document = tomllib.loads((DATA / "maturity.toml").read_text(encoding="utf-8"))
    rule = document["rule"]
    return Hardening(
        rule=MaturityRule(**rule | {"method": Method(rule["method"])}),
        curves={key: StrengthCurve(**row) for key, row in document["cement"].items()},
    )


def load_cure_table() -> CureTable:
    """Return the waiting table a new installation begins with."""
    document = tomllib.loads((DATA / "cure.toml").read_text(encoding="utf-8"))
    return CureTable(
        mixes=tuple(
            CureMix(
                key=mix["key"],
                name=mix["name"],
                cold_words=mix["cold_words"],
                waits=tuple(
                    CureWait(
                        work=Work(wait["work"]),
                        from_air_f=wait["from_air_f"],
                        hours=wait["hours"],
                    )
                    for wait in mix["waits"]
                ),
            )
            for mix in document["mix"]
        )
    )
