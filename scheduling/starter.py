"""The starter set scheduling begins with: how long posts wait in their concrete."""

import tomllib
from pathlib import Path

from scheduling.engine.cure import CureMix, CureTable, CureWait, Work

DATA = Path(__file__).parent / "data"


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
