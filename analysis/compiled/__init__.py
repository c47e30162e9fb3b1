"""What is worked on millions of times, compiled by numba when it is first called.

The functions here are plain Python on numbers and arrays: the flow laws, the balance of
flows, sparse elimination and Newton's search. Everything else calls them through
`analysis.branch_laws`, `network`, `elimination`, `first_guess` and `newton`.

numba keeps the machine code, but does not notice when a function that another one calls has
changed, nor a constant. So the code is kept in a folder named after all sources of this package
and the constants together.
`NUMBA_DISABLE_JIT=1` runs the same functions uncompiled, for a debugger.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from hashlib import sha256
from pathlib import Path
from typing import ParamSpec, TypeVar, cast

import numba
from llvmlite.binding import get_host_cpu_name
from numba import config

from analysis import constants

_Parameters = ParamSpec("_Parameters")
_Result = TypeVar("_Result")


def _load_numba() -> None:
    """Load what numba loads when it first compiles, without scipy.

    Where scipy is there, as it is for the tests, numba would take it in for its linear algebra,
    which is not used here: that takes longer than all else.
    """
    hidden = "scipy.linalg" not in sys.modules
    if hidden:
        sys.modules["scipy.linalg"] = None  # type: ignore[assignment]
    try:
        import numba.np.arraymath  # noqa: F401
    finally:
        if hidden:
            del sys.modules["scipy.linalg"]


_load_numba()


def _digest() -> str:
    """What the machine code hangs on: these sources and their place, Python, numba, processor."""
    made_by = (sys.version, numba.__version__, get_host_cpu_name(), str(Path(__file__).parent))
    digest = sha256("\n".join(made_by).encode())
    for source in (Path(constants.__file__), *sorted(Path(__file__).parent.glob("*.py"))):
        digest.update(source.read_bytes())
    return digest.hexdigest()[:16]


def _find_folder() -> Path | None:
    """Where the machine code of these sources is kept; None if it cannot be written there.

    Only ever a folder of the person's own: what lies in it is run.
    """
    of_user = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    folder = Path(of_user, "standpipe", f"compiled-{_digest()}")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError:
        return None
    return folder if os.access(folder, os.W_OK) else None


FOLDER = _find_folder()
if FOLDER is not None:
    config.CACHE_DIR = str(FOLDER)  # type: ignore[attr-defined]


def compiled(function: Callable[_Parameters, _Result]) -> Callable[_Parameters, _Result]:
    """The function as machine code that lets other threads run and divides as numpy does."""
    compile_ = numba.njit(cache=FOLDER is not None, nogil=True, error_model="numpy")
    return cast("Callable[_Parameters, _Result]", compile_(function))
