"""The secret behind form tokens and passes, kept from one start to the next so that open forms stay good."""

from __future__ import annotations

import os
import secrets
import stat
from pathlib import Path

from ..errors import HowdeepError
from ..files.whole import locked, write_whole

BYTES = 32
FILE = "page-secret"


def state_folder() -> Path:
    """Where the program keeps what must outlive it: HOWDEEP_STATE, else the user's state folder."""
    named = os.environ.get("HOWDEEP_STATE")
    if named:
        return Path(named)
    base = os.environ.get("XDG_STATE_HOME") or os.environ.get("LOCALAPPDATA") or "~/.local/state"
    return Path(base).expanduser() / "howdeep"


def kept_secret(folder: Path | None = None) -> tuple[bytes, str]:
    """The secret, made at the first start and readable by this user alone; and why it cannot be kept, if so.

    A file that others can read, that belongs to somebody else or that is a link or damaged is not trusted: a new secret
    takes its place.
    """
    folder = folder or state_folder()
    path = folder / FILE
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for _ in range(2):
            known = _read(path)
            if known is not None:
                return known, ""
            _put(path, secrets.token_bytes(BYTES))
        return secrets.token_bytes(BYTES), f"{path}: cannot be trusted"
    except OSError as error:
        return secrets.token_bytes(BYTES), f"{path}: cannot be kept: {error.strerror or error}"
    except HowdeepError as error:
        return secrets.token_bytes(BYTES), str(error.faults[0])


def _read(path: Path) -> bytes | None:
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
    except OSError:
        return None
    with os.fdopen(handle, "rb") as stream:
        facts = os.fstat(handle)
        if not stat.S_ISREG(facts.st_mode):
            return None
        if os.name == "posix" and (facts.st_mode & 0o077 or facts.st_uid != os.geteuid()):
            return None
        data = stream.read(BYTES + 1)
    return data if len(data) == BYTES else None


def _put(path: Path, secret: bytes) -> None:
    """Put a secret where none can be trusted; of two programs that start at once both read the same one then."""
    if path.is_symlink():
        path.unlink()
    with locked(path):
        if _read(path) is None:
            path.unlink(missing_ok=True)
            write_whole(path, secret, force=False, mode=0o600)
