"""The job book: every job of a folder with where it stands, found by any of its words. What it keeps is only a cache of
the files: it may be deleted at any time."""

from __future__ import annotations

import json
import os
import stat
import threading
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from ..errors import HowdeepError
from ..files.strict_yaml import read
from ..files.whole import write_whole
from ..job.sections import MAX_JOB_BYTES
from ..job.standing import standing_of
from ..model.frozen import dataclass
from .jobs import is_job, is_reserved

INDEX = ".howdeep-book.json"
VERSION = 2
PAGE = 50
WORDS = 6000
"""Characters of a job by which it is found."""
SETTLED = 20
"""So many jobs must have changed before the index is written again; fewer are quickly read anew."""
_OTHERS = frozenset({"labour_rate", "build", "howdeep_shop"})
"""A price list, an engine sheet and a shop's settings beside the jobs are known by these keys, and are not listed."""


@dataclass(frozen=True, slots=True)
class Listed:
    """One line of the job book."""

    name: str
    title: str
    engine: str
    customer: str
    state: str
    """Where it stands; 'damaged' where the file cannot be read, '' for a file that is no job."""
    opened: str = ""
    fault: str = ""
    words: str = ""
    """All its words, folded, to search in."""
    danger: bool = False
    """Whether its answer, when it was last worked out, forbids running the engine."""


@dataclass(frozen=True, slots=True)
class Page:
    """A part of the book."""

    jobs: tuple[Listed, ...]
    page: int
    first: int
    last: int
    found: int
    total: int


def _engine_words(told: Any) -> str:
    return " ".join(map(str, told.values())) if isinstance(told, dict) else str(told or "")


class JobBook:
    """The jobs of one folder; files that did not change are not read again."""

    def __init__(self, folder: Path, engine_words: Callable[[Any], str] = _engine_words) -> None:
        self.folder, self.lock, self.engine_words = folder, threading.Lock(), engine_words
        self.kept: dict[str, tuple[tuple[int, int, int], Listed]] | None = None
        self.changed = 0

    def open(self) -> None:
        """Read the index, so that the first page need not wait for it. What changed since is seen when a page is asked
        for."""
        with self.lock:
            if self.kept is None:
                self.kept = self._read_index()

    def page(self, search: str = "", page: int = 1) -> Page:
        """Jobs that hold every word searched for, accents and capitals alike, newest first."""
        with self.lock:
            entries = self._refreshed()
        words = folded(search).split()
        jobs = [(mark[0], entry) for mark, entry in entries if entry.state]
        found = [(when, entry) for when, entry in jobs if all(word in entry.words for word in words)]
        found.sort(key=lambda item: (-item[0], item[1].name))
        pages = max(1, -(-len(found) // PAGE))
        page = min(max(1, page), pages)
        shown = tuple(entry for _, entry in found[(page - 1) * PAGE : page * PAGE])
        first = (page - 1) * PAGE + 1 if shown else 0
        return Page(shown, page, first, first + len(shown) - 1 if shown else 0, len(found), len(jobs))

    def told(self, path: Path, *, danger: bool) -> None:
        """Keep of an answer that was worked out whether it forbids running, until the job changes."""
        with self.lock:
            if self.kept is None:
                self.kept = self._read_index()
            try:
                stands = path.lstat()
            except OSError:
                return
            mark = (stands.st_mtime_ns, stands.st_size, stands.st_ino)
            had = self.kept.get(path.stem)
            if had is not None and had[0] == mark and had[1].danger is danger:
                return
            entry = had[1] if had is not None and had[0] == mark else listed(path, stands.st_mode, self.engine_words)
            if entry is not None:
                self.kept[path.stem] = (mark, replace(entry, danger=danger))
                self.changed += 1

    def _refreshed(self) -> list[tuple[tuple[int, int, int], Listed]]:
        if self.kept is None:
            self.kept = self._read_index()
        now: dict[str, tuple[tuple[int, int, int], Listed]] = {}
        try:
            files = list(os.scandir(self.folder))
        except OSError:
            files = []
        for file in files:
            name = file.name.removesuffix(".yaml")
            if name == file.name or name.startswith(".") or is_reserved(name):
                continue
            try:
                told = file.stat(follow_symlinks=False)
            except OSError:
                continue  # deleted since the folder was read
            mark = (told.st_mtime_ns, told.st_size, told.st_ino)
            had = self.kept.get(name)
            if had is None or had[0] != mark:
                entry = listed(Path(file.path), told.st_mode, self.engine_words)
                if entry is None:
                    continue
                had, self.changed = (mark, entry), self.changed + 1
            now[name] = had
        self.changed += len(self.kept.keys() - now.keys())
        gone = self.kept.keys() - now.keys()
        self.kept = now
        if self.changed >= SETTLED or gone:  # a deleted job leaves nothing behind
            self._write_index()
        return list(now.values())

    def _read_index(self) -> dict[str, tuple[tuple[int, int, int], Listed]]:
        path = self.folder / INDEX
        try:
            if not stat.S_ISREG(path.lstat().st_mode):
                return {}
            plain = json.loads(path.read_text(encoding="utf-8"))
            if plain["howdeep_book"] != VERSION:
                return {}
            return {line["name"]: (tuple(mark), Listed(**line)) for mark, line in plain["jobs"]}
        except (OSError, ValueError, KeyError, TypeError):
            return {}

    def _write_index(self) -> None:
        kept = self.kept or {}
        plain = {"howdeep_book": VERSION, "jobs": [[list(mark), asdict(entry)] for mark, entry in kept.values()]}
        try:
            write_whole(
                self.folder / INDEX, json.dumps(plain, ensure_ascii=False, separators=(",", ":")).encode(), mode=0o600
            )
            self.changed = 0
        except (HowdeepError, OSError):
            self.changed = 0  # a folder that cannot be written to is read anew each time it is opened


def folded(text: str) -> str:
    """Text as it is searched: small letters, without accents."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def listed(path: Path, mode: int, engine_words: Callable[[Any], str] = _engine_words) -> Listed | None:
    """One line of the book; its state is '' for a price list or an engine sheet that stands beside the jobs. None where
    the file is gone."""
    if not stat.S_ISREG(mode):
        return _damaged(path, f"{path.name}: is a link or no file, and is not followed")
    try:
        plain = read(path, max_bytes=MAX_JOB_BYTES).value
    except HowdeepError as error:
        return _damaged(path, str(error.faults[0]))
    except OSError:
        return None
    if not is_job(plain):
        if isinstance(plain, dict) and _OTHERS & plain.keys():
            return Listed(path.stem, "", "", "", "")
        return _damaged(path, f"{path.name}: is not a job")
    customer = plain.get("customer") if isinstance(plain.get("customer"), dict) else {}
    engine = engine_words(plain.get("engine"))
    state = standing_of(plain)
    words = folded(" ".join([path.stem, state, engine, *_texts(plain)]))[:WORDS]
    return Listed(
        path.stem,
        str(plain.get("title") or ""),
        engine[:80],
        str(customer.get("name") or ""),
        state,
        str(plain.get("opened") or ""),
        "",
        words,
    )


def _damaged(path: Path, fault: str) -> Listed:
    return Listed(path.stem, "", "", "", "damaged", "", fault, folded(f"{path.stem} damaged"))


def _texts(value: Any) -> list[str]:
    """Every word of a job that a person wrote or chose, shallow first."""
    if isinstance(value, Mapping):
        return [word for key, item in value.items() if key != "promises" for word in (str(key), *_texts(item))]
    if isinstance(value, (list, tuple)):
        return [word for item in value for word in _texts(item)]
    return [] if value is None else [str(value)]


def list_jobs(folder: Path, search: str = "") -> tuple[tuple[Listed, ...], int]:
    """The first page of a folder's jobs that hold every word searched for, and how many jobs there are in all."""
    page = JobBook(folder).page(search)
    return page.jobs, page.total


__all__ = ["INDEX", "JobBook", "Listed", "Page", "folded", "list_jobs", "listed"]
