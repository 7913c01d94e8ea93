"""The only module that uses the compiler, which makes the search some fifty times as quick.

What it compiles is plain Python, and comes to the same uncompiled. That is done once on a machine
and takes it some seconds; then it is read from disk.
"""

import hashlib
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import numba

Worked = TypeVar("Worked", bound=Callable[..., Any])

HERE = Path(__file__).parent
MADE = "compiled-"
OPTIONS: dict[str, Any] = {"forceinline": True, "nogil": True, "_nrt": False}


def compiled(function: Worked) -> Worked:
    """Return a function of numbers and arrays of them, compiled when it is first called.

    It may not make arrays: without counting who uses them it is four times as quick. Other work
    goes on beside it.
    """
    made: Worked = numba.njit(**OPTIONS)(function)
    return made


def keep_made() -> None:
    """Keep what is compiled beside the code, by what the code is.

    By itself the compiler would go on using what it made of code that has changed elsewhere. Where
    nothing can be written it is compiled anew in each process.
    """
    sources = sorted(HERE.glob("*.py"))
    digest = hashlib.sha256(b"".join(one.read_bytes() for one in sources)).hexdigest()[:16]
    made = HERE / "__pycache__" / f"{MADE}{digest}"
    try:
        made.mkdir(parents=True, exist_ok=True)
        if not os.access(made, os.W_OK):
            return
        for other in made.parent.glob(f"{MADE}*"):
            if other != made:
                shutil.rmtree(other, ignore_errors=True)
    except OSError:
        return
    config: Any = numba.config
    config.CACHE_DIR = str(made)
    OPTIONS["cache"] = True


keep_made()
