"""Writing a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

from analysis.errors import CircuitFileError


def write_whole(path: str | os.PathLike[str], data: bytes) -> None:
    """Write a file by way of a temporary one beside it, which then takes its place.

    An existing file keeps its permissions, and a symbolic link stays one. What is no plain
    file (a device, a pipe) is written to directly.

    Raises
    ------
    CircuitFileError
        If it cannot be written; an old file is then as it was, a new one is not there.
    """
    target = Path(path)
    try:
        old = _status(target)
        if old is not None and not stat.S_ISREG(old.st_mode):
            target.write_bytes(data)
            return
        if old is not None and not os.access(target, os.W_OK):
            raise PermissionError(0, "the file is read-only")
        # through a link, so that the link stays and the file it names is replaced
        real = Path(os.path.realpath(target))
        _replace(real, data, 0o666 & ~_umask() if old is None else stat.S_IMODE(old.st_mode))
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CircuitFileError(f"cannot be written: {reason.lower()}", str(path)) from error


def _status(target: Path) -> os.stat_result | None:
    try:
        return target.stat()
    except FileNotFoundError:
        return None


def _replace(target: Path, data: bytes, mode: int) -> None:
    handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, mode)
        os.replace(temporary, target)
    except BaseException:  # Ctrl-C too must leave nothing behind
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _umask() -> int:
    # the mask can only be read by setting it
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
