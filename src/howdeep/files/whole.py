"""Files written whole or not at all: temporary file beside it, flushed to disk, renamed into place under a lock.

The lock is the operating system's: it ends with the program that held it, however that ended, and a stopped program
keeps it. The lock file itself only carries it; it is deleted on release, and what a killed program left is swept.
"""

from __future__ import annotations

import contextlib
import errno
import os
import re
import secrets
import stat
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, StaleFile
from .strict_yaml import digest_of

LOCK_SECONDS = 3.0
"""A save takes some hundredths of a second; who holds a file longer has been stopped or hangs."""
_POLL_SECONDS = 0.005
_LOCK, _NEW = ".howdeep-lock", ".howdeep-new"
_LEFT = re.compile(rf"\.(?P<name>.+?)(?:{re.escape(_LOCK)}|\.\d+\.[0-9a-f]{{8}}{re.escape(_NEW)})")
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}

_mine = threading.local()
"""`.held`: the files that this thread holds already, so that a step may lock what its caller has locked."""
_swept: set[Path] = set()
"""Folders in which this process has looked for leftovers."""


def target_of(path: str | Path) -> Path:
    """The file itself, behind any links. Raises HowdeepError where a link leads nowhere or it is no regular file."""
    path = Path(path)
    real = Path(os.path.realpath(path))
    try:
        mode = os.stat(real).st_mode
    except FileNotFoundError:
        if path.is_symlink():
            raise HowdeepError(
                Fault(str(path), 0, 0, "is a link that leads to no file", "mend the link or delete it")
            ) from None
        return real
    except (OSError, ValueError) as error:
        raise _unwritten(path, error) from None
    if not stat.S_ISREG(mode):
        raise HowdeepError(Fault(str(path), 0, 0, f"is {kind_of(mode)}, not a regular file; it is not written to"))
    return real


def kind_of(mode: int) -> str:
    """What stands at a path that is no regular file, from its mode."""
    return (
        "a folder"
        if stat.S_ISDIR(mode)
        else "a pipe"
        if stat.S_ISFIFO(mode)
        else "a socket"
        if stat.S_ISSOCK(mode)
        else "a device"
    )


def write_whole(
    path: str | Path, data: bytes, *, force: bool = True, digest: str = "", mode: int | None = None
) -> None:
    """Write a file so that a reader sees the old one or the new one, never a part. A link's target is written.

    `digest` is that of the file which is to be replaced; `mode` the permission bits of a new file. Raises HowdeepError
    where it cannot be written, is write-protected, or exists and `force` is false; StaleFile where it is no longer the
    one with `digest`.
    """
    with locked(path):
        real = target_of(path)
        try:
            _write(Path(path), real, data, force, digest, mode)
        except OSError as error:
            raise _unwritten(path, error) from None


def _write(path: Path, real: Path, data: bytes, force: bool, digest: str, mode: int | None) -> None:
    before = os.stat(real) if real.exists() else None
    if before is not None and not force:
        raise HowdeepError(Fault(str(path), 0, 0, "exists already", "use --force to replace it"))
    if before is not None and (not before.st_mode & 0o222 or not os.access(real, os.W_OK)):
        raise HowdeepError(
            Fault(
                str(path), 0, 0, "is write-protected; nothing was saved", "allow writing (chmod u+w) if it is to change"
            )
        )
    temporary = real.with_name(f".{real.name}.{os.getpid()}.{secrets.token_hex(4)}{_NEW}")
    try:
        rights = 0o600 if before is not None else 0o666 if mode is None else mode
        with open(os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, rights), "wb") as stream:
            stream.write(data)
            stream.flush()
            if before is not None:
                with contextlib.suppress(OSError):
                    os.chown(temporary, before.st_uid, before.st_gid)
                os.chmod(temporary, stat.S_IMODE(before.st_mode))
            os.fsync(stream.fileno())
        if digest and (not real.exists() or digest_of(real.read_bytes()) != digest):
            raise StaleFile(Fault(str(path), 0, 0, "was changed by someone else meanwhile; nothing was saved"))
        if force:
            os.replace(temporary, real)
        else:
            place_new(temporary, real)
        _flush_folder(real.parent)
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


def place_new(temporary: Path, real: Path) -> None:
    """The new file under its name, and nothing replaced: a link fails where the name is taken by then."""
    try:
        os.link(temporary, real)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        os.replace(temporary, real)  # a file system without hard links; the lock keeps other saves out


def _flush_folder(folder: Path) -> None:
    """The rename itself reaches the disk only with the folder; not every system can do this."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def locked(path: str | Path) -> Iterator[None]:
    """Hold the right to change a file. Within one thread it may be taken again.

    Raises HowdeepError where another program holds it longer than LOCK_SECONDS, or no lock can be had.
    """
    real = target_of(path)
    held = _mine.__dict__.setdefault("held", set())
    if real in held:
        yield
        return
    lock = _acquired(Path(path), real, LOCK_SECONDS)
    if lock is None:
        raise HowdeepError(
            Fault(
                str(path),
                0,
                0,
                f"another program holds it and did not finish in {LOCK_SECONDS:g} seconds; nothing was saved",
                "end that program, or let it go on if it was stopped",
            )
        )
    held.add(real)
    try:
        _sweep_temporaries(real)
        yield
    finally:
        held.discard(real)
        _released(lock)
        _sweep_folder(real.parent)


def _acquired(path: Path, real: Path, seconds: float) -> Any:
    """The lock of a file; None where it was not free in that time."""
    from filelock import FileLock, Timeout  # here, because reading commands never need it

    lock = FileLock(
        real.with_name(f".{real.name}{_LOCK}"), timeout=seconds, poll_interval=_POLL_SECONDS, fallback_to_soft=False
    )
    try:
        lock.acquire()
    except Timeout:
        return None
    except (OSError, NotImplementedError) as error:
        raise _unwritten(path, error) from None
    return lock


def _released(lock: Any) -> None:
    """The file goes while the lock is held: who waits on the deleted one sees that and takes a new one."""
    with contextlib.suppress(OSError):
        os.unlink(lock.lock_file)
    lock.release()


def _sweep_temporaries(real: Path) -> None:
    """Parts that a killed program left: whoever holds the lock of a file is the only one writing it."""
    with contextlib.suppress(OSError), os.scandir(real.parent) as entries:
        for entry in entries:
            left = _LEFT.fullmatch(entry.name)
            if left and left["name"] == real.name and entry.name.endswith(_NEW):
                with contextlib.suppress(OSError):
                    os.unlink(entry.path)


def _sweep_folder(folder: Path) -> None:
    """Once for each folder, what killed programs left of other files; what somebody holds now is let be."""
    if folder in _swept:
        return
    _swept.add(folder)
    try:
        with os.scandir(folder) as entries:
            names = {left["name"] for entry in entries if (left := _LEFT.fullmatch(entry.name))}
    except OSError:
        return
    for name in sorted(names):
        with contextlib.suppress(HowdeepError):
            lock = _acquired(folder / name, folder / name, 0)
            if lock is not None:
                _sweep_temporaries(folder / name)
                _released(lock)


def _unwritten(path: str | Path, error: Exception) -> HowdeepError:
    return HowdeepError(Fault(str(path), 0, 0, f"cannot be written: {getattr(error, 'strerror', None) or error}"))
