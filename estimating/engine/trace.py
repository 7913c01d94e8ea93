"""How a figure came about: the rule, its inputs and its source, kept beside the result."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True, slots=True)
class Step:
    """One step towards a figure, in words a reader can check by hand."""

    rule: str
    inputs: str
    source: str = ""
