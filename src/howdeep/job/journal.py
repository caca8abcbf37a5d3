"""The journal of a job: what was changed when and by whom, one line each, beside the job and never rewritten.

Every line holds the change of the job's text, so that the lines replayed give the file byte for byte, and the digest of
the line before it, so that a line that was changed or taken out shows. What was done to the file by other means (an
editor, an older program) is found at the next save and entered as such.
"""

from __future__ import annotations

import contextlib
import datetime
import getpass
import json
import os
from collections.abc import Iterator, Mapping
from contextvars import ContextVar
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import parse
from ..model.frozen import dataclass

Kind = Literal["begun", "change", "outside", "undo"]
_WHO: ContextVar[str] = ContextVar("howdeep_who", default="")
_NONE = "0" * 64


@dataclass(frozen=True, slots=True)
class Moved:
    """One value of a job that a line changed; None where it was not there."""

    where: str
    """'answers.runs', 'waived.floor', 'notes.0', 'title'."""
    was: Any
    now: Any


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a journal."""

    number: int
    kind: Kind
    at: str
    """ISO date and time with its offset."""
    by: str
    moved: tuple[Moved, ...]
    start: int
    """Where the text changes, in characters."""
    gone: int
    """How many characters go."""
    put: str
    """What comes in their place; of 'begun' the whole text."""
    to: str
    """SHA-256 of the job's file after it."""
    before: str
    """SHA-256 of the line before it; 64 noughts of the first."""
    undoes: int = 0
    """Number of the line that an 'undo' takes back."""


def journal_path(job: Path) -> Path:
    """Where the journal of a job stands: beside the file itself, behind any links."""
    real = Path(os.path.realpath(job))
    return real.with_name(f"{real.stem}.journal")


@contextlib.contextmanager
def acting(who: str) -> Iterator[None]:
    """Changes made inside are entered as made by `who`."""
    token = _WHO.set(who)
    try:
        yield
    finally:
        _WHO.reset(token)


def set_who(who: str) -> None:
    """Changes made from now on in this thread or task are entered as made by `who`."""
    _WHO.set(who)


def who() -> str:
    """Who acts: as was said, else the user of this machine."""
    if _WHO.get():
        return _WHO.get()
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "somebody"


def digest(text: str) -> str:
    """SHA-256 of a text as it stands in a file."""
    return sha256(text.encode()).hexdigest()


def patch(old: str, new: str) -> tuple[int, int, str]:
    """(start, characters that go, text that comes) that turn `old` into `new`."""
    start, most = 0, min(len(old), len(new))
    while start < most and old[start] == new[start]:
        start += 1
    end = 0
    while end < most - start and old[-1 - end] == new[-1 - end]:
        end += 1
    return start, len(old) - start - end, new[start : len(new) - end]


def patched(text: str, start: int, gone: int, put: str) -> str:
    """`text` with one patch. Raises ValueError where it does not fit."""
    if start < 0 or gone < 0 or start + gone > len(text):
        raise ValueError("the change does not fit the text")
    return text[:start] + put + text[start + gone :]


def moved_between(old: Mapping[str, Any], new: Mapping[str, Any]) -> tuple[Moved, ...]:
    """Every value that differs between two plain jobs; of sections and lists of entries one by one."""
    found = []
    for key in dict.fromkeys([*old, *new]):
        was, now = old.get(key), new.get(key)
        if was == now:
            continue
        parts = _parts(was), _parts(now)
        if parts[0] is None and parts[1] is None:
            found.append(Moved(key, was, now))
            continue
        mine, theirs = parts[0] or {}, parts[1] or {}
        found += [
            Moved(f"{key}.{name}", mine.get(name), theirs.get(name))
            for name in dict.fromkeys([*mine, *theirs])
            if mine.get(name) != theirs.get(name)
        ]
    return tuple(found)


def _parts(value: Any) -> dict[str, Any] | None:
    if isinstance(value, Mapping):
        return {str(key): item for key, item in value.items()}
    if isinstance(value, list):
        return {str(number): item for number, item in enumerate(value)}
    return None


def text_of(line: Line) -> str:
    """A line as it stands in the file, without its end."""
    plain = {
        "n": line.number,
        "kind": line.kind,
        "at": line.at,
        "by": line.by,
        "moved": [[item.where, item.was, item.now] for item in line.moved],
        "text": [line.start, line.gone, line.put],
        "to": line.to,
        "before": line.before,
        **({"undoes": line.undoes} if line.undoes else {}),
    }
    return json.dumps(plain, ensure_ascii=False, separators=(",", ":"), default=str)


def line_of(text: str) -> Line:
    """A line read. Raises ValueError for what is none."""
    try:
        plain = json.loads(text)
        start, gone, put = plain["text"]
        line = Line(
            plain["n"],
            plain["kind"],
            plain["at"],
            plain["by"],
            tuple(Moved(*item) for item in plain["moved"]),
            start,
            gone,
            put,
            plain["to"],
            plain["before"],
            plain.get("undoes", 0),
        )
    except (KeyError, TypeError, ValueError) as error:
        raise ValueError("is no line of a journal") from error
    if (
        not all(isinstance(item, int) for item in (line.number, line.start, line.gone, line.undoes))
        or not all(isinstance(item, str) for item in (line.at, line.by, line.put, line.to, line.before))
        or (line.kind not in ("begun", "change", "outside", "undo"))
    ):
        raise ValueError("is no line of a journal")
    return line


@dataclass(frozen=True, slots=True)
class Journal:
    """A journal read: its whole lines, and the job's text after the last of them."""

    lines: tuple[Line, ...]
    text: str
    last: str
    """SHA-256 of the last line."""
    length: int
    """Bytes of the whole lines; what stands behind them was torn off while it was written."""


def read_journal(job: Path) -> Journal:
    """The journal of a job, checked line by line; empty where there is none. Raises HowdeepError with the first line
    that was changed, taken out or put in."""
    path = journal_path(job)
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return Journal((), "", _NONE, 0)
    except OSError as error:
        raise HowdeepError(Fault(str(path), 0, 0, f"cannot be read: {error.strerror or error}")) from None
    length = data.rfind(b"\n") + 1
    lines: list[Line] = []
    text, last = "", _NONE
    for number, raw in enumerate(data[:length].split(b"\n")[:-1], 1):
        try:
            line = line_of(raw.decode())
            if line.number != number or line.before != last:
                raise ValueError("does not follow the line before it: a line was changed, taken out or put in")
            text = line.put if line.kind == "begun" else patched(text, line.start, line.gone, line.put)
            if digest(text) != line.to:
                raise ValueError("does not give the text that it says: it was changed")
        except (ValueError, UnicodeDecodeError) as error:
            raise HowdeepError(
                Fault(str(path), number, 1, "is no text" if isinstance(error, UnicodeDecodeError) else str(error))
            ) from None
        lines.append(line)
        last = sha256(raw).hexdigest()
    return Journal(tuple(lines), text, last, length)


def enter(
    job: Path, old_text: str, old: Mapping[str, Any], new_text: str, new: Mapping[str, Any], *, undoes: int = 0
) -> None:
    """Enter one change of a job that was just saved. A journal begins with the text as it was; what had been changed by
    other means since its last line is entered before it. The caller holds the job's lock.

    A journal that cannot be read any more is put aside under another name and a new one begun: no save fails for it.
    """
    path = journal_path(job)
    now, name = datetime.datetime.now().astimezone().isoformat(timespec="seconds"), who()
    known = _known.get(path)
    try:
        journal = known[1] if known is not None and known[0] == _mark(path) else read_journal(job)
    except HowdeepError:
        _put_aside(path)
        journal = Journal((), "", _NONE, 0)
    lines: list[Line] = []
    last, number, text = journal.last, len(journal.lines), journal.text

    def add(kind: Kind, by: str, moved: tuple[Moved, ...], change: tuple[int, int, str], to: str) -> None:
        nonlocal last, number
        number += 1
        line = Line(number, kind, now, by, moved, *change, to, last, undoes if kind == "undo" else 0)
        last = sha256(text_of(line).encode()).hexdigest()
        lines.append(line)

    if not journal.lines:
        begun = old_text or new_text
        add("begun", name, (), (0, 0, begun), digest(begun))
        text = begun
    if text != old_text and old_text:
        add(
            "outside", "not by this program", moved_between(_values(text), old), patch(text, old_text), digest(old_text)
        )
    if old_text and new_text != old_text:
        add("undo" if undoes else "change", name, moved_between(old, new), patch(old_text, new_text), digest(new_text))
    if lines:
        data = "".join(f"{text_of(line)}\n" for line in lines).encode()
        _append(path, journal.length, data, job)
        _known[path] = (_mark(path), Journal((*journal.lines, *lines), new_text, last, journal.length + len(data)))
        while len(_known) > KEEP:
            with contextlib.suppress(KeyError, RuntimeError, StopIteration):  # another thread was first
                del _known[next(iter(_known))]


_known: dict[Path, tuple[tuple[int, int, int], Journal]] = {}
"""Journals that this process wrote last, by their file as it then was: they need not be read again to go on."""
KEEP = 32


def _mark(path: Path) -> tuple[int, int, int]:
    try:
        told = path.stat()
    except OSError:
        return (0, 0, 0)
    return told.st_mtime_ns, told.st_size, told.st_ino


def _values(text: str) -> Mapping[str, Any]:
    """The values of a job's text; none where it cannot be read any more."""
    try:
        value = parse(text).value
    except HowdeepError:
        return {}
    return value if isinstance(value, Mapping) else {}


def _append(path: Path, length: int, data: bytes, job: Path) -> None:
    """Write lines behind the last whole one, and wait until they are on the disk."""
    try:
        mode = job.stat().st_mode & 0o777
        handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_BINARY", 0), mode)
        try:
            if os.fstat(handle).st_size > length:  # a line that was torn off while it was written
                os.ftruncate(handle, length)
            os.lseek(handle, length, os.SEEK_SET)
            while data:
                data = data[os.write(handle, data) :]
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        raise HowdeepError(
            Fault(str(path), 0, 0, f"the change is saved, but not entered in the journal: {error.strerror or error}")
        ) from None


def _put_aside(path: Path) -> None:
    for number in range(1, 1000):
        aside = path.with_name(f"{path.name}.damaged-{number}")
        if not aside.exists():
            with contextlib.suppress(OSError):
                path.rename(aside)
            return


def undone(lines: tuple[Line, ...]) -> Line | None:
    """The line that the next undo takes back: the last change that was not taken back yet; None where there is none."""
    standing: list[Line] = []
    for line in lines:
        if line.kind == "undo":
            standing = [item for item in standing if item.number < line.undoes]
        elif line.kind != "begun":
            standing.append(line)
    return standing[-1] if standing else None


def text_before(lines: tuple[Line, ...], number: int) -> str:
    """The job's text before a line."""
    text = ""
    for line in lines[: number - 1]:
        text = line.put if line.kind == "begun" else patched(text, line.start, line.gone, line.put)
    return text


def touched(lines: tuple[Line, ...], since: str) -> frozenset[str] | None:
    """What was changed since the job's file had the digest `since`, as 'answers.runs'; None where that is not told."""
    for place in range(len(lines) - 1, -1, -1):
        if lines[place].to == since:
            later = lines[place + 1 :]
            return (
                None
                if any(line.kind == "outside" for line in later)
                else frozenset(item.where for line in later for item in line.moved)
            )
    return None


KEPT_FOR_GOOD = ("waived", "promises", "papers", "approvals", "found")
"""What no undo takes back: it was said to a customer or by him."""


def may_undo(line: Line) -> str:
    """Why a line is not taken back; empty where it may be."""
    for item in line.moved:
        part = item.where.partition(".")[0]
        if part == "found":
            return (
                f"line {line.number} is the close of the job ({item.where}), which is never taken back; close it again "
                "with what is right, and that takes the place of what is said anew"
            )
        if part in KEPT_FOR_GOOD:
            return f"line {line.number} holds what is never taken back ({item.where})"
    return "" if line.kind != "outside" else f"line {line.number} was not made by this program"


__all__ = [
    "KEPT_FOR_GOOD",
    "Journal",
    "Line",
    "Moved",
    "acting",
    "digest",
    "enter",
    "journal_path",
    "line_of",
    "may_undo",
    "moved_between",
    "patch",
    "patched",
    "read_journal",
    "set_who",
    "text_before",
    "text_of",
    "touched",
    "undone",
    "who",
]
