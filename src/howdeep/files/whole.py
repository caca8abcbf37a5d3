"""Files written whole or not at all: temporary file beside it, flushed to disk, renamed into place."""

from __future__ import annotations

import contextlib
import os
import secrets
import time
from collections.abc import Iterator
from pathlib import Path

from ..errors import Fault, HowdeepError

LOCK_SECONDS = 10.0


def write_whole(path: Path, data: bytes, *, force: bool = True) -> None:
    """Write a file so that a reader sees the old one or the new one, never a part.

    Raises HowdeepError where it cannot be written, or where it exists and `force` is false.
    """
    path = Path(path)
    if not force and path.exists():
        raise HowdeepError(Fault(str(path), 0, 0, "exists already", "use --force to replace it"))
    temporary = path.with_name(f".{path.name}.{os.getpid()}.{secrets.token_hex(4)}.new")
    try:
        with open(temporary, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        if path.exists():
            with contextlib.suppress(OSError):
                os.chmod(temporary, path.stat().st_mode & 0o777)
        os.replace(temporary, path)
        _flush_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise HowdeepError(Fault(str(path), 0, 0, f"cannot be written: {error.strerror or error}")) from None


def _flush_folder(folder: Path) -> None:
    """The rename itself reaches the disk only with the folder; not every system can do this."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def locked(path: Path) -> Iterator[None]:
    """Hold the right to change a file, by a lock file beside it. A lock older than LOCK_SECONDS was left by a crash."""
    lock = Path(path).with_name(f".{Path(path).name}.lock")
    deadline = time.monotonic() + LOCK_SECONDS
    while True:
        try:
            handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY)
            break
        except FileExistsError:
            with contextlib.suppress(OSError):
                if time.time() - lock.stat().st_mtime > LOCK_SECONDS:
                    lock.unlink(missing_ok=True)
                    continue
            if time.monotonic() > deadline:
                raise HowdeepError(Fault(str(path), 0, 0, "is being written by another program",
                                         f"if that is not so, delete {lock.name}")) from None
            time.sleep(0.01)
        except OSError as error:
            raise HowdeepError(Fault(str(path), 0, 0, f"cannot be written: {error.strerror or error}")) from None
    try:
        os.close(handle)
        yield
    finally:
        with contextlib.suppress(OSError):
            lock.unlink(missing_ok=True)
