"""Files read once: copies of the checked values, keyed by the content they came from.

A copy is plain JSON (never anything that could run), stands in a folder that can be deleted at any time, and is used
only where its key matches the bytes of every file it came from, of the code that reads them and of itself; anything
else is rebuilt. The rule base, engine sheets and price lists are kept so, and what is made of rule base and engine
alone; a job is read anew every time, and no answer is kept.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import json
import os
import stat
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any, TypeVar

from ..errors import Fault, HowdeepError
from ..files.whole import write_whole
from ..model.knowledge import Knowledge
from . import cache_codec as as_plain
from .load import files_of, load
from .plausible import plausible_files

T = TypeVar("T")
KEEP = {"rules": 8, "engine": 24, "kind": 24, "prices": 8, "network": 12}
"""Kind -> newest copies kept."""


def cache_folder() -> Path:
    """Where copies stand: HOWDEEP_CACHE, else the user's cache folder. Deleting it is always safe."""
    named = os.environ.get("HOWDEEP_CACHE")
    if named:
        return Path(named)
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or "~/.cache"
    return Path(base).expanduser() / "howdeep"


def key_of(folders: Sequence[Path]) -> str:
    """Hash of everything the rule base depends on: file names, bytes, folders, and the reading code."""
    parts = []
    for folder in folders:
        parts.append(str(Path(folder).resolve()).encode())
        for kind, path in files_of(Path(folder)):
            parts += [f"{kind}\0{path.relative_to(folder)}".encode(), _content(path)]
    return _key([*parts, *map(_content, plausible_files(folders, "rules"))])


def _content(path: Path) -> bytes:
    """The bytes of a regular file; a pipe would be waited for without end."""
    if not stat.S_ISREG(path.stat().st_mode):
        raise HowdeepError(Fault(str(path), 0, 0, "is not a regular file"))
    return path.read_bytes()


def load_cached(folders: Sequence[Path]) -> Knowledge:
    """The rule base of the folders, from the copy where it is sound, else read, checked and copied."""
    key = key_of(folders)
    knowledge = _copied("rules", Knowledge, key, lambda: load(folders))
    _name(knowledge, key)
    return knowledge


_named: list[tuple[Knowledge, str]] = []
NAMED = 8
"""The newest rule bases whose content is known by a key."""


def _name(knowledge: Knowledge, key: str) -> None:
    _named[:] = [(knowledge, key), *(entry for entry in _named if entry[0] is not knowledge)][:NAMED]


def content_of(knowledge: Knowledge) -> str | None:
    """A key of what a rule base says, where it was loaded from folders and not changed since; None for any other."""
    return next((key for known, key in _named if known is knowledge), None)


def same_content(derived: Knowledge, knowledge: Knowledge, besides: Iterable[str]) -> None:
    """Take note that a rule base differs from a loaded one by no more than `besides` says."""
    key = content_of(knowledge)
    if key is not None and derived is not knowledge:
        _name(derived, "\0".join((key, *besides)))


def made_cached(
    kind: str,
    words: Iterable[str],
    made_by: tuple[str, ...],
    make: Callable[[], T],
    to_plain: Callable[[T], Any],
    from_plain: Callable[[Any], T],
) -> T:
    """A value that hangs on what `words` name and on the modules `made_by`: from its copy, else made and copied."""
    key = _key([kind.encode(), _digest_of(made_by), *(word.encode() for word in words)])
    path = _path(kind, key)
    value = _read(path, key, from_plain)
    if value is None:
        value = make()
        _write(kind, path, key, to_plain(value))
    return value


def file_cached(kind: str, shape: type[T], path: Path, also: Iterable[str], read: Callable[[], T]) -> T:
    """A checked value that hangs on one file and on the words in `also`: from its copy, else by `read`, and copied."""
    try:
        content = _content(Path(path))
    except (OSError, ValueError):
        return read()  # which says what is wrong
    return _copied(kind, shape, _key([kind.encode(), content, *(word.encode() for word in also)]), read)


def _copied(kind: str, shape: type[T], key: str, read: Callable[[], T]) -> T:
    path = _path(kind, key)
    value = _read(path, key, functools.partial(as_plain.from_plain, shape))
    if value is None:
        value = read()
        _write(kind, path, key, as_plain.to_plain(value))
    return value


def _path(kind: str, key: str) -> Path:
    return cache_folder() / f"{kind}-{key[:24]}.json"


def _read(path: Path, key: str, from_plain: Callable[[Any], T]) -> T | None:
    try:
        raw = path.read_bytes()
        digest, _, body = raw.partition(b"\n")
        if digest.decode() != _seal(key, body):
            return None
        return from_plain(json.loads(body))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # missing, stale or damaged: rebuilt, never trusted


def _write(kind: str, path: Path, key: str, plain: object) -> None:
    body = json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode()
    with contextlib.suppress(OSError, HowdeepError):  # a read-only home only costs time
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(path, _seal(key, body).encode() + b"\n" + body)
        copies = sorted(path.parent.glob(f"{kind}-*.json"), key=lambda item: item.stat().st_mtime)
        for old in copies[: -KEEP[kind]]:
            old.unlink(missing_ok=True)


def _seal(key: str, body: bytes) -> str:
    return hashlib.sha256(key.encode() + b"\0" + body).hexdigest()


def _key(parts: Iterable[bytes]) -> str:
    total = hashlib.sha256(_digest_of(SHAPED_BY))
    for part in parts:
        total.update(len(part).to_bytes(8, "big") + part)
    return total.hexdigest()


SHAPED_BY = (
    "model/frozen.py",
    "model/condition.py",
    "model/terms.py",
    "model/sources.py",
    "model/observations.py",
    "model/causes.py",
    "model/operations.py",
    "model/knowledge.py",
    "model/judged.py",
    "model/judgement.py",
    "model/limits.py",
    "model/engine.py",
    "model/prices.py",
    "knowledge/cache_codec.py",
    "knowledge/load.py",
    "knowledge/names.py",
    "knowledge/condition_names.py",
    "knowledge/judged_names.py",
    "knowledge/given_names.py",
    "knowledge/held_to.py",
    "knowledge/signatures.py",
    "knowledge/validate.py",
    "knowledge/condition_text.py",
    "knowledge/engines.py",
    "knowledge/kinds.py",
    "knowledge/build_words.py",
    "model/kind.py",
    "knowledge/figure_guard.py",
    "knowledge/sheet_guard.py",
    "knowledge/rule_guard.py",
    "pricing/guard.py",
    "knowledge/fasteners.py",
    "model/quantity.py",
    "pricing/read.py",
    "pricing/marks.py",
    "pricing/money.py",
    "files/strict_yaml.py",
)
"""Modules that shape the values: a copy made by other code is not used."""


@functools.cache
def _digest_of(modules: tuple[str, ...]) -> bytes:
    """Hash of the modules that shape values, so that a copy made by other code is not used."""
    root = Path(__file__).resolve().parents[1]
    total = hashlib.sha256()
    for part in modules:
        with contextlib.suppress(OSError):
            total.update((root / part).read_bytes())
    return total.digest()
