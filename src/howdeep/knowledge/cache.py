"""The rule base read once: a copy of the checked values, keyed by the content it came from.

The copy is plain JSON (never anything that could run), stands in a folder that can be deleted at any time, and is used
only where its key matches the bytes of every rule file, of the code that reads them and of itself; anything else is
rebuilt.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Sequence
from pathlib import Path

from ..errors import HowdeepError
from ..files.whole import write_whole
from ..model.knowledge import Knowledge
from . import as_plain
from .load import files_of, load

_KEEP = 8


def cache_folder() -> Path:
    """Where copies stand: HOWDEEP_CACHE, else the user's cache folder. Deleting it is always safe."""
    named = os.environ.get("HOWDEEP_CACHE")
    if named:
        return Path(named)
    base = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or "~/.cache"
    return Path(base).expanduser() / "howdeep"


def key_of(folders: Sequence[Path]) -> str:
    """Hash of everything the rule base depends on: file names, bytes, folders, and the reading code."""
    total = hashlib.sha256(_code_digest())
    for folder in folders:
        total.update(str(Path(folder).resolve()).encode() + b"\0")
        for kind, path in files_of(Path(folder)):
            total.update(f"{kind}\0{path.relative_to(folder)}\0".encode() + path.read_bytes() + b"\0")
    return total.hexdigest()


def load_cached(folders: Sequence[Path]) -> Knowledge:
    """The rule base of the folders, from the copy where it is sound, else read, checked and copied."""
    key = key_of(folders)
    path = cache_folder() / f"rules-{key[:24]}.json"
    knowledge = _read(path, key)
    if knowledge is None:
        knowledge = load(folders)
        _write(path, key, knowledge)
    return knowledge


def _read(path: Path, key: str) -> Knowledge | None:
    try:
        raw = path.read_bytes()
        digest, _, body = raw.partition(b"\n")
        if digest.decode() != _seal(key, body):
            return None
        return as_plain.from_plain(json.loads(body))
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None  # missing, stale or damaged: rebuilt, never trusted


def _write(path: Path, key: str, knowledge: Knowledge) -> None:
    body = json.dumps(as_plain.to_plain(knowledge), ensure_ascii=False, separators=(",", ":")).encode()
    with contextlib.suppress(OSError, HowdeepError):  # a read-only home only costs time
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        write_whole(path, _seal(key, body).encode() + b"\n" + body)
        copies = sorted(path.parent.glob("rules-*.json"), key=lambda item: item.stat().st_mtime)
        for old in copies[:-_KEEP]:
            old.unlink(missing_ok=True)


def _seal(key: str, body: bytes) -> str:
    return hashlib.sha256(key.encode() + b"\0" + body).hexdigest()


def _code_digest() -> bytes:
    """Hash of the modules that shape the values, so that a copy made by other code is not used."""
    root = Path(__file__).resolve().parents[1]
    total = hashlib.sha256()
    for part in ("model/condition.py", "model/knowledge.py", "knowledge/as_plain.py", "knowledge/load.py",
                 "knowledge/names.py", "knowledge/shapes.py", "knowledge/condition_text.py"):
        with contextlib.suppress(OSError):
            total.update((root / part).read_bytes())
    return total.digest()
