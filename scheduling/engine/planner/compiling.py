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
from numba.core import ir, types
from numba.core.compiler import CompilerBase, DefaultPassBuilder
from numba.core.compiler_machinery import FunctionPass, PassManager, register_pass
from numba.core.typed_passes import NopythonRewrites

Worked = TypeVar("Worked", bound=Callable[..., Any])

HERE = Path(__file__).parent
MADE = "compiled-"


@register_pass(mutates_CFG=False, analysis_only=False)
class FromTheFront(FunctionPass):
    """Take every number that an array is indexed by for one without a sign.

    For each number that may be negative the compiler adds what counts it from the end instead,
    which takes the search a third of its time. Nothing here is indexed so.
    """

    _name = "from_the_front"

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]  # the library leaves it untyped

    def run_pass(self, state: Any) -> bool:
        """Change what indexes are taken for; say that something was changed."""
        for node, signature in list(state.calltypes.items()):
            is_read = isinstance(node, ir.Expr) and node.op == "getitem"
            if is_read or isinstance(node, ir.SetItem):
                array, index, *value = signature.args
                if isinstance(array, types.Array):
                    # What is noted may not be changed, only noted anew.
                    del state.calltypes[node]
                    state.calltypes[node] = signature.replace(
                        args=(array, without_sign(index), *value)
                    )
        return True


def without_sign(index: types.Type) -> types.Type:
    """Return the type of an index, its whole numbers without a sign."""
    if isinstance(index, types.BaseTuple):
        each: Any = index
        return types.Tuple([without_sign(one) for one in each])
    return types.uintp if isinstance(index, types.Integer) else index


class Compiler(CompilerBase):
    """The compiler as it comes, with indexes counted from the front."""

    def define_pipelines(self) -> list[PassManager]:
        """Return what is done one after the other to compile a function."""
        steps = DefaultPassBuilder.define_nopython_pipeline(self.state)
        steps.add_pass_after(FromTheFront, NopythonRewrites)
        steps.finalize()
        return [steps]


OPTIONS: dict[str, Any] = {
    "forceinline": True,
    "nogil": True,
    "_nrt": False,
    "pipeline_class": Compiler,
}


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
