"""A job saved: each change is one whole write, refused where the file is no longer the one that was read.

What a person wrote into the file beside the values, comments and layout, stays.
"""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Callable, Iterator
from contextvars import ContextVar
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, StaleFile
from ..files.edit_yaml import edited
from ..files.plain_yaml import dump
from ..files.strict_yaml import Document, digest_of, parse, read
from ..files.whole import locked, write_whole
from ..model.job import JOB_FORMAT
from ..model.knowledge import Knowledge
from .journal import enter, read_journal, touched
from .promises import moved_out, promise_folder
from .sections import MAX_JOB_BYTES, SECTIONS, section_of

_ORDER = (
    "howdeep_job",
    "title",
    "opened",
    "engine",
    "customer",
    "place",
    *SECTIONS,
    "notes",
    "photos",
    "done",
    "waived",
    "papers",
    "promises",
    "approvals",
    "found",
    "expect",
)
TITLE, LEAST_TITLE = 70, 20
"""Letters of a title made of a customer's words, at most and at least."""
_TEXT_DROPPED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff\ud800-\udfff]")

_LOG = logging.getLogger("howdeep")

Change = Callable[[dict[str, Any]], dict[str, Any]]
"""Plain job -> changed plain job."""
Told = Callable[[Path, str, str], None]
"""Is told of a job's file, its digest (empty where there is none yet) and the digest that it is about to have."""
_TOLD: ContextVar[Told | None] = ContextVar("howdeep_told", default=None)


@contextlib.contextmanager
def told_before(told: Told) -> Iterator[None]:
    """Inside, `told` is called before a job's file takes the place of the one before it: what it keeps can be compared
    with the journal after a crash, and tells whether the save was made."""
    token = _TOLD.set(told)
    try:
        yield
    finally:
        _TOLD.reset(token)


def _tell(path: Path, before: str, data: bytes) -> None:
    told = _TOLD.get()
    if told is not None:
        told(path, before, digest_of(data))


def clean_text(text: str) -> str:
    """A person's text without the control characters that no YAML file may hold."""
    return _TEXT_DROPPED.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def title_of(words: str) -> str:
    """A short title from a customer's words: all of them where they are few, else the first sentence or as many clauses
    of it as there is room for."""
    line = " ".join(words.split())
    if len(line) <= TITLE:
        return line
    first = re.split(r"(?<=[.!?]) ", line)[0]
    if len(first) <= TITLE:
        return first
    room = first[:TITLE]
    end = max(room.rfind(mark) for mark in ",;:")
    return room[:end] if end >= LEAST_TITLE else f"{room.rpartition(' ')[0] or room} ..."


def new_job(engine: str | dict[str, Any], **fields: Any) -> dict[str, Any]:
    """A new plain job; `engine` is the name of a sheet or kind, or a mapping of what is known."""
    return {"howdeep_job": JOB_FORMAT, "engine": engine, **fields}


def with_answer(knowledge: Knowledge, observation: str, value: Any) -> Change:
    """The change that gives one observation its value (a plain value as it stands in a job; None takes it back)."""
    section = section_of(knowledge.observations[observation])

    def change(plain: dict[str, Any]) -> dict[str, Any]:
        part = dict(plain.get(section) or {})
        part.pop(observation, None)
        if value is not None:
            part[observation] = value
        changed = {**plain, section: part}
        if not part:
            del changed[section]
        return changed

    return change


def ordered(plain: dict[str, Any]) -> dict[str, Any]:
    """The fields of a job in their fixed order."""
    return {key: plain[key] for key in _ORDER if plain.get(key) not in (None, {}, [])}


def text_of(plain: dict[str, Any]) -> str:
    """The text of a job file."""
    return dump(ordered(plain))


def _changed(document: Document, change: Change) -> str:
    """The text of a job with one change, and the comments, the order and the layout of the rest as they were."""
    before = document.value
    after = {key: value for key, value in change(before).items() if value not in (None, {}, []) or key in before}
    return edited(
        document.text,
        before,
        {key: value for key, value in after.items() if value not in (None, {}, []) or value == before[key]},
        _ORDER,
    )


def create(path: Path, plain: dict[str, Any]) -> str:
    """Write a new job file; returns its digest. Raises HowdeepError if the file exists."""
    text = text_of(plain)
    _tell(path, "", text.encode())
    write_whole(path, text.encode(), force=False)
    with locked(path):
        _entered(path, Document(str(path), {}, {}, {}), text)
    return digest_of(text.encode())


def save(path: Path, digest: str, change: Change, *, about: frozenset[str] = frozenset(), undoes: int = 0) -> str:
    """Apply one change to the file if it is still the one with `digest`; returns the new digest.

    The digest is looked at under the lock, and once more before the new file takes the place of the old one, for
    programs that know no lock. Where somebody else saved meanwhile and the journal tells that nothing of what the
    change is `about` ('answers.runs') was touched, both changes stand. A promise in it is written beside the job first
    (job/promises.py). Raises StaleFile where the file was changed or deleted otherwise, HowdeepError where it cannot be
    written; in both cases nothing is saved. `undoes` is the line of the journal that the change takes back.
    """
    path = Path(path)
    with locked(path):
        if not path.exists():
            raise StaleFile(Fault(str(path), 0, 0, "was deleted meanwhile; nothing was saved"))
        document = read(path, max_bytes=MAX_JOB_BYTES)
        if document.digest != digest and not _apart(path, document, digest, about):
            raise StaleFile(Fault(str(path), 0, 0, "was changed by someone else meanwhile; nothing was saved"))
        inside: tuple[str, ...] = ()

        def kept_beside(plain: dict[str, Any]) -> dict[str, Any]:
            nonlocal inside
            moved, inside = moved_out(path, change(plain))
            return moved

        text = _changed(document, kept_beside)
        data = text.encode()
        if len(data) > MAX_JOB_BYTES:
            raise HowdeepError(
                Fault(str(path), 0, 0, f"would be larger than {MAX_JOB_BYTES:,} bytes; nothing was saved")
            )
        _tell(path, document.digest, data)
        write_whole(path, data, digest=document.digest)
        _entered(path, document, text, undoes)
    if old := [name for name in inside if name in (document.value.get("promises") or {})]:
        _LOG.warning(
            "%s: what was promised (%s) stands in %s from now on", path, ", ".join(map(str, old)), promise_folder(path)
        )
    return digest_of(data)


def put_back(path: Path, digest: str, text: str, undoes: int) -> str:
    """Give a job the text that it had before a line of its journal; returns the new digest. Raises as `save` does."""
    with locked(path):
        document = read(path, max_bytes=MAX_JOB_BYTES)
        if document.digest != digest:
            raise StaleFile(Fault(str(path), 0, 0, "was changed by someone else meanwhile; nothing was taken back"))
        data = text.encode()
        _tell(path, digest, data)
        write_whole(path, data, digest=digest)
        _entered(path, document, text, undoes)
    return digest_of(data)


def _apart(path: Path, document: Document, digest: str, about: frozenset[str]) -> bool:
    """Whether what was saved since `digest` touches nothing of what a change is about. Of a file that was changed by
    other means since the last line of its journal nobody knows."""
    if not about:
        return False
    try:
        journal = read_journal(path)
    except HowdeepError:
        return False
    others = touched(journal.lines, digest)
    return others is not None and journal.text == document.text and not others & about


def _entered(path: Path, document: Document, text: str, undoes: int = 0) -> None:
    """Enter a saved change in the journal. The job stands on disk by then: what cannot be entered is said, no more."""
    try:
        enter(path, document.text, document.value, text, parse(text).value, undoes=undoes)
    except HowdeepError as error:
        _LOG.warning("%s", error)
