"""Passes: one for each device that may reach the page, under the device's name; only their digests are kept."""

from __future__ import annotations

import json
import os
import re
import secrets
import stat
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

from ..clock import date_today
from ..errors import HowdeepError
from ..files.whole import locked, write_whole
from ..job.write import clean_text
from ..model.frozen import dataclass

LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789"
"""Letters and figures of a key; none that is easily taken for another."""
GROUPS, EACH = 4, 5
"""A key is typed in groups: twenty of thirty signs, 98 bits."""
HOURS = 24
"""A key that nobody used so long is void."""
MOST_NAME = 40
MOST = 50
"""Most devices of one folder."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One device that may reach the page."""

    name: str
    made: str
    """Day on which it was made (ISO)."""
    key: str = ""
    """SHA-256 of the key that lets the device in once; empty once it was used."""
    until: float = 0.0
    """Seconds since 1970 until which the key is good."""
    device: str = ""
    """SHA-256 of what the device holds; empty until the key was used."""


class Passes:
    """The passes of one folder of jobs, kept in the user's state folder beside the page's secret.

    Revoking works from the next request on: the file is read anew whenever it changed.
    """

    def __init__(self, state: Path, folder: Path, clock: Callable[[], float] = time.time) -> None:
        name = sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]
        self.path, self.clock, self.lock = state / f"page-passes-{name}.json", clock, threading.Lock()
        self.mark: tuple[int, int, int] | None = None
        self.kept: tuple[Pass, ...] = ()

    def all(self) -> tuple[Pass, ...]:
        """Every pass, in the order in which they were made; keys that ran out unused are gone."""
        now = self.clock()
        return tuple(one for one in self._read() if one.device or one.until > now)

    def make(self, name: str) -> str:
        """Make a pass and return its key, which is shown once and kept nowhere. Raises HowdeepError for a name that is
        empty or taken, and where it cannot be kept."""
        name = " ".join(clean_text(name).split())
        if not name or len(name) > MOST_NAME:
            raise HowdeepError(f"Give the device a name of at most {MOST_NAME} letters, such as 'Yard phone'.")
        key = "".join(secrets.choice(LETTERS) for _ in range(GROUPS * EACH))
        until = self.clock() + HOURS * 3600

        def more(kept: tuple[Pass, ...]) -> tuple[Pass, ...]:
            if any(one.name.casefold() == name.casefold() for one in kept):
                raise HowdeepError(f"There is a pass for '{name}' already: revoke it first, or take another name.")
            if len(kept) >= MOST:
                raise HowdeepError(f"There are {MOST} passes already: revoke those that are not used.")
            return (*kept, Pass(name, date_today(), _digest(key), until))

        self._change(more)
        return "-".join(key[at : at + EACH] for at in range(0, len(key), EACH))

    def use(self, key: str) -> str:
        """What the device is to hold from now on, for a key that is good; empty for any other. A key works once."""
        wanted, held = _digest(re.sub(r"[\s-]", "", key.upper())), secrets.token_urlsafe(32)
        if not any(one.key == wanted for one in self.all()):
            return ""

        def used(kept: tuple[Pass, ...]) -> tuple[Pass, ...]:
            if not any(one.key == wanted for one in kept):
                raise _Gone("")
            return tuple(
                replace(one, key="", until=0.0, device=_digest(held)) if one.key == wanted else one for one in kept
            )

        try:
            self._change(used)
        except _Gone:
            return ""
        return held

    def name_of(self, held: str) -> str:
        """The name of the device that holds this; empty where none does."""
        if not held:
            return ""
        wanted = _digest(held)
        return next((one.name for one in self._read() if one.device == wanted), "")

    def revoke(self, name: str) -> None:
        """Take a pass back; a name that has none is none any more. Raises HowdeepError where that cannot be kept."""
        self._change(lambda kept: tuple(one for one in kept if one.name != name))

    def _change(self, step: Callable[[tuple[Pass, ...]], tuple[Pass, ...]]) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with locked(self.path):
            plain = {"howdeep_passes": 1, "passes": [asdict(one) for one in step(self.all())]}
            if self.path.is_symlink() or _mark(self.path) is None:
                self.path.unlink(missing_ok=True)  # one that others can write is not trusted
            write_whole(self.path, json.dumps(plain, ensure_ascii=False, indent=1).encode(), mode=0o600)

    def _read(self) -> tuple[Pass, ...]:
        with self.lock:
            mark = _mark(self.path)
            if mark != self.mark or mark is None:
                self.kept, self.mark = _passes(self.path) if mark else (), mark
            return self.kept


class _Gone(HowdeepError):
    """Another device was faster."""


def _digest(secret: str) -> str:
    """What is kept of a secret: it is random and long, so a bare digest tells nothing of it."""
    return sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def _mark(path: Path) -> tuple[int, int, int] | None:
    """What changes when a file does; None for one that is missing, no plain file, or not this user's alone."""
    try:
        facts = path.lstat()
    except OSError:
        return None
    if not stat.S_ISREG(facts.st_mode):
        return None
    if os.name == "posix" and (facts.st_mode & 0o077 or facts.st_uid != os.geteuid()):
        return None
    return facts.st_mtime_ns, facts.st_size, facts.st_ino


def _passes(path: Path) -> tuple[Pass, ...]:
    """The passes of a file; none of one that is damaged: devices then ask for a new pass."""
    try:
        plain: Any = json.loads(path.read_text(encoding="utf-8"))
        if plain["howdeep_passes"] != 1:
            return ()
        return tuple(Pass(**one) for one in plain["passes"])
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return ()


__all__ = ["Pass", "Passes"]
