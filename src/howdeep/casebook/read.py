"""Handbook files to entries, with every fault of every file at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..job.read import engine_described
from ..job.values_in import values_in
from ..knowledge.engine_facts import engine_facts
from ..knowledge.engines import find, load_engine
from ..knowledge.fill_in import UNKNOWN as UNKNOWN_ENGINE
from ..knowledge.fill_in import resolve
from ..knowledge.kinds import load_kinds
from ..knowledge.names import ID
from ..knowledge.validate import typed
from ..logic.applicability import applies
from ..model.engine import Engine
from ..model.job import Job, OpenJob
from ..model.kind import General
from ..model.knowledge import Knowledge
from .entries import Entry, Handbook, Printed

Laid = tuple[Engine, General | None]
"""The engine that an entry is laid on, and what of it was filled in where it is described and has no sheet."""

SHARES = "shares.yaml"
"""Kept shares of the bench; they stand in the same folder and are no handbook."""


def read_handbooks(folder: Path, knowledge: Knowledge, folders: Sequence[Path]) -> tuple[Entry, ...]:
    """Every entry of a folder, in order of file and as written. Raises HowdeepError with all faults."""
    faults: list[Fault] = []
    entries: list[Entry] = []
    works: dict[str, str] = {}
    engines: dict[str, Laid] = {}
    for path in sorted(Path(folder).glob("*.yaml")):
        if path.name == SHARES:
            continue
        try:
            document = read(path)
        except HowdeepError as error:
            faults.extend(error.faults)
            continue
        book = typed(document, (), document.value, Handbook, faults)
        if book is None:
            continue
        if book.work not in knowledge.sources:
            faults.append(
                document.fault(
                    ("work",), f"there is no published work '{book.work}'", nearest(book.work, knowledge.sources)
                )
            )
        if book.work in works:
            faults.append(document.fault(("work",), f"'{book.work}' has a file already", works[book.work]))
        works[book.work] = str(path)
        said: dict[tuple[object, ...], str] = {}
        for name, plain in book.entries.items():
            entry = _entry(document, book, name, plain, knowledge, folders, engines, faults)
            if entry is None:
                continue
            entries.append(entry)
            if entry.job is not None and not entry.printed.unsayable:
                key = (str(entry.printed.engine), *entry.job.values.items())
                if key in said:
                    faults.append(
                        document.fault(
                            ("entries", name),
                            f"says the same as '{said[key]}'",
                            "one sign is one entry, with the causes of both",
                            at_key=True,
                        )
                    )
                said[key] = name
    if not works and not faults:
        faults.append(Fault(str(folder), 0, 0, "holds no handbooks (*.yaml)"))
    if faults:
        raise HowdeepError(faults)
    return tuple(entries)


def naming(entries: Sequence[Entry], cause: str) -> tuple[Entry, ...]:
    """Entries that print a cause, in order of work."""
    return tuple(entry for entry in entries if cause in entry.printed.causes)


def _entry(
    document: Document,
    book: Handbook,
    name: Any,
    plain: Any,
    knowledge: Knowledge,
    folders: Sequence[Path],
    engines: dict[str, Laid],
    faults: list[Fault],
) -> Entry | None:
    path = ("entries", name)
    before = len(faults)
    if not isinstance(name, str) or not ID.fullmatch(name):
        faults.append(document.fault(path, f"'{name}' is not an id: small letters, digits, - and _", at_key=True))
    printed = typed(document, path, plain, Printed, faults)
    if printed is None:
        return None
    engine, general = _engine(document, path, printed, folders, engines, faults)
    faults.extend(_faults(document, path, printed, knowledge, engine))
    values, unknown, later = values_in(document, path, plain, knowledge, engine, faults)
    for item in sorted(unknown | later):
        faults.append(document.fault(path, f"'{item}' has no answer; leave it out"))
    if engine is not None:
        facts = engine_facts(engine)
        for section in ("answers", "readings", "teardown"):
            for item in getattr(printed, section):
                if item in values and not applies(knowledge.observations[item], facts):
                    faults.append(
                        document.fault(
                            (*path, section, item), f"'{item}' is not asked of {_named(printed)}", at_key=True
                        )
                    )
    if len(faults) > before:
        return None
    line, _ = document.keys[path]
    job = None if printed.no_job or engine is None else _job(document, printed, engine, general, values)
    return Entry(book.work, name, book.built, printed, job, document.file, line)


def _engine(
    document: Document,
    path: Path_,
    printed: Printed,
    folders: Sequence[Path],
    engines: dict[str, Laid],
    faults: list[Fault],
) -> Laid | tuple[None, None]:
    if printed.no_job:
        return None, None
    if not printed.engine:
        faults.append(
            document.fault(
                path,
                "an entry is laid on an engine (engine: the id of a sheet, or its build), or says why it is no job "
                "(no_job: ...)",
                at_key=True,
            )
        )
        return None, None
    key = str(printed.engine)
    if key not in engines:
        before = len(faults)
        try:
            if isinstance(printed.engine, dict):
                described = engine_described(document, (*path, "engine"), printed.engine, folders, faults)
                if len(faults) > before:
                    return None, None
                filled = resolve(load_kinds(folders), described)
                engines[key] = filled.engine, filled.general
            else:
                engines[key] = load_engine(find(printed.engine, folders)), None
        except HowdeepError as error:
            faults.extend(document.fault((*path, "engine"), fault.message, fault.hint) for fault in error.faults)
            return None, None
    return engines[key]


def _named(printed: Printed) -> str:
    """The engine of an entry in a sentence: its sheet, or that it is the one described."""
    return printed.engine if isinstance(printed.engine, str) else "the engine that is described"


def _faults(
    document: Document, path: Path_, printed: Printed, knowledge: Knowledge, engine: Engine | None
) -> Iterator[Fault]:
    known: dict[str, dict[str, Any]] = {
        "causes": knowledge.causes,
        "remedy": knowledge.operations,
        "tests": {**knowledge.observations, **knowledge.checks},
    }
    facts = engine_facts(engine) if engine is not None else {}
    for field, entries in known.items():
        for index, name in enumerate(getattr(printed, field)):
            if name not in entries:
                yield document.fault((*path, field, index), f"'{name}' is unknown", nearest(name, entries))
            elif field == "causes" and engine is not None and not applies(entries[name], facts):
                yield document.fault(
                    (*path, field, index),
                    f"{_named(printed)} cannot have '{name}'",
                    "lay it on another engine, or write it under not_ours",
                )
            elif name in getattr(printed, field)[:index]:
                yield document.fault((*path, field, index), f"'{name}' stands here twice")
    if printed.no_job:
        return
    if not (printed.answers or printed.readings or printed.teardown or printed.unsayable):
        yield document.fault(path, "says no trouble", "answers, readings, teardown or unsayable", at_key=True)
    if not (printed.causes or printed.unknown_causes):
        yield document.fault(path, "prints no cause", "causes or unknown_causes", at_key=True)
    if printed.facts:
        yield document.fault((*path, "facts"), "facts are kept of an entry that makes no job", at_key=True)


def _job(
    document: Document, printed: Printed, engine: Engine, general: General | None, values: dict[str, Any]
) -> OpenJob:
    job = Job(
        howdeep_job=1,
        engine=printed.engine if isinstance(printed.engine, str) else UNKNOWN_ENGINE,
        title=printed.title,
        answers=dict(printed.answers),
        readings=dict(printed.readings),
        teardown=dict(printed.teardown),
    )
    return OpenJob(
        document.file,
        document.digest,
        job,
        engine,
        dict(sorted(values.items())),
        frozenset(),
        frozenset(),
        general=general,
    )
