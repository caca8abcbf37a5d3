"""YAML read strictly: no anchors, tags, merges, duplicate keys or second documents, and every value keeps its place.

Only `true` and `false` are booleans, only plain decimals are numbers; every other scalar stays the text that was
typed (`no`, `12:30` and `010` are text). Size, depth and number of nodes are bounded.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
from dataclasses import field, replace
from pathlib import Path
from typing import Any

import yaml

from ..errors import MOST_FAULTS, Fault, HowdeepError
from ..model.frozen import dataclass

MAX_BYTES = 2_000_000
MAX_DEPTH = 30
MAX_NODES = 200_000

_NUMBER = re.compile(r"[-+]?(0|[1-9][0-9]*)(\.[0-9]+)?([eE][-+]?[0-9]+)?\Z")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x84\x86-\x9f\ud800-\udfff\ufffe\uffff]")
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

Path_ = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Document:
    """A parsed file: plain values, and for each path of keys and indexes where it stands."""

    file: str
    value: Any
    places: dict[Path_, tuple[int, int]] = field(repr=False)
    """Path -> (line, column), both from 1, of the value."""
    keys: dict[Path_, tuple[int, int]] = field(repr=False)
    """Path -> (line, column) of the key that leads to the value."""
    digest: str = ""
    """Hash of the bytes that were read; empty for text that was no file."""
    text: str = field(default="", repr=False)
    """The text that was parsed."""

    def fault(self, path: Path_, message: str, hint: str = "", *, at_key: bool = False) -> Fault:
        """A fault at `path`, or at the closest part of it that the file has."""
        path = tuple(path)
        first, second = (self.keys, self.places) if at_key else (self.places, self.keys)
        while path and path not in first and path not in second:
            path = path[:-1]
        line, column = first.get(path) or second.get(path) or (1, 1)
        return Fault(self.file, line, column, message, hint)


def read_bytes(path: str | Path, *, max_bytes: int = MAX_BYTES) -> bytes:
    """The bytes of a regular file that holds no more than so many. Raises HowdeepError with the reason why not."""
    name = str(path)
    try:
        with open(path, "rb", opener=_regular) as stream:
            raw = stream.read(max_bytes + 1)
    except FileNotFoundError:
        raise HowdeepError(Fault(name, 0, 0, "there is no such file")) from None
    except IsADirectoryError:
        raise HowdeepError(Fault(name, 0, 0, "this is a folder, not a file")) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise HowdeepError(Fault(name.replace("\0", "\\0"), 0, 0, f"cannot be read: {reason}")) from None
    if len(raw) > max_bytes:
        raise HowdeepError(Fault(name, 0, 0, f"is larger than {max_bytes:,} bytes"))
    return raw


def read(path: str | Path, *, max_bytes: int = MAX_BYTES) -> Document:
    """Read one YAML file. Raises HowdeepError with every reason why it cannot be read."""
    name, raw = str(path), read_bytes(path, max_bytes=max_bytes)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise HowdeepError(Fault(name, line, 1, "is not UTF-8 text")) from None
    return replace(parse(text, name), digest=digest_of(raw))


def _regular(path: str, flags: int) -> int:
    """A descriptor of a regular file; anything else is refused at once, where reading a pipe would wait for ever."""
    handle = os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
    mode = os.fstat(handle).st_mode
    if stat.S_ISREG(mode):
        return handle
    os.close(handle)
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), path)
    raise OSError(errno.EINVAL, "it is a pipe, a device or a socket, not a regular file", path)


def digest_of(raw: bytes) -> str:
    """Hash that tells whether a file is still the one that was read."""
    return hashlib.sha256(raw).hexdigest()


def parse(text: str, file: str = "") -> Document:
    """Parse YAML text. Raises HowdeepError with file, line and column."""
    bad = _CONTROL.search(text)
    if bad:
        before = text[: bad.start()]
        column = bad.start() - (before.rfind("\n") + 1) + 1
        raise HowdeepError(
            Fault(file, before.count("\n") + 1, column, f"holds a control character (U+{ord(bad.group()):04X})")
        )
    try:
        return _Builder(file, text).build(yaml.parse(text, Loader=_LOADER))
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (0, 0)
        raise HowdeepError(
            Fault(file, line, column, f"is not valid YAML: {error.problem or error.context or 'cannot be parsed'}")
        ) from None
    except yaml.YAMLError as error:
        raise HowdeepError(Fault(file, 0, 0, f"is not valid YAML: {error}")) from None


class _Builder:
    """Builds plain values from parser events, so that nothing is resolved that should not be."""

    def __init__(self, file: str, text: str):
        self.file, self.text, self.nodes = file, text, 0
        self.faults: list[Fault] = []
        self.places: dict[Path_, tuple[int, int]] = {}
        self.keys: dict[Path_, tuple[int, int]] = {}

    def stop(self, event: Any, message: str) -> HowdeepError:
        return HowdeepError(
            [*self.faults, Fault(self.file, event.start_mark.line + 1, event.start_mark.column + 1, message)]
        )

    def build(self, events: Any) -> Document:
        value, documents = None, 0
        for event in events:
            if isinstance(event, yaml.DocumentStartEvent):
                documents += 1
                if documents > 1:
                    raise self.stop(event, "holds a second document (---); one file is one document")
                first = next(events)
                if not isinstance(first, yaml.DocumentEndEvent):
                    value = self.node(first, events, (), 0)
        if self.faults:
            raise HowdeepError(self.faults)
        return Document(self.file, value, self.places, self.keys, text=self.text)

    @staticmethod
    def place(event: Any) -> tuple[int, int]:
        """Line and column of an event, from 1."""
        return event.start_mark.line + 1, event.start_mark.column + 1

    def look(self, event: Any) -> None:
        """A control character is no better for being written as an escape."""
        if event.style == '"' and (bad := _CONTROL.search(event.value)):
            raise self.stop(event, f"holds a control character (U+{ord(bad.group()):04X})")

    def node(self, event: Any, events: Any, path: Path_, depth: int) -> Any:
        self.nodes += 1
        if self.nodes > MAX_NODES:
            raise self.stop(event, f"holds more than {MAX_NODES:,} values")
        if depth > MAX_DEPTH:
            raise self.stop(event, f"is nested deeper than {MAX_DEPTH} levels")
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise self.stop(event, "uses an anchor or alias (& or *); write the value out")
        if getattr(event, "tag", None):
            raise self.stop(event, f"uses a tag ({event.tag}); plain values only")
        self.places[path] = self.place(event)
        if isinstance(event, yaml.ScalarEvent):
            self.look(event)
            return scalar(event.value) if event.style in (None, "") else event.value
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Any] = []
            while not isinstance(item := next(events), yaml.SequenceEndEvent):
                items.append(self.node(item, events, (*path, len(items)), depth + 1))
            return items
        mapping: dict[Any, Any] = {}
        while not isinstance(key_event := next(events), yaml.MappingEndEvent):
            if not isinstance(key_event, yaml.ScalarEvent) or key_event.anchor or key_event.tag:
                raise self.stop(key_event, "uses a key that is not plain text")
            self.look(key_event)
            key = scalar(key_event.value) if key_event.style in (None, "") else key_event.value
            if isinstance(key, (bool, float)) or key is None:
                key = key_event.value
            place = self.place(key_event)
            if key == "<<":
                raise self.stop(key_event, "uses a merge key (<<); write the values out")
            if key in mapping:
                if len(self.faults) >= MOST_FAULTS:
                    raise self.stop(key_event, "there are more faults")
                line, column = self.keys[(*path, key)]
                self.faults.append(
                    Fault(self.file, *place, f"the key '{key}' stands here twice", f"first at {line}:{column}")
                )
            self.keys[(*path, key)] = place
            mapping[key] = self.node(next(events), events, (*path, key), depth + 1)
        return mapping


def scalar(text: str) -> str | int | float | bool | None:
    """The value of a plain scalar: only true/false, null and plain decimals are more than text."""
    if text == "true":
        return True
    if text == "false":
        return False
    if text in ("", "null", "~"):
        return None
    if len(text) <= 40 and _NUMBER.match(text):
        if re.fullmatch(r"[-+]?[0-9]+", text):
            return int(text)
        number = float(text)
        return text if number in (float("inf"), float("-inf")) else number
    return text
