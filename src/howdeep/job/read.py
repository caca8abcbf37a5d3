"""A job file to an OpenJob, with every fault at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..errors import MOST_FAULTS, Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, digest_of, parse, read
from ..files.what_file import another_file
from ..knowledge.described import FIELDS, kind_named, read_described
from ..knowledge.engines import Sheet, find, load_sheet, sheet_ids
from ..knowledge.fill_in import UNKNOWN as UNKNOWN_ENGINE
from ..knowledge.fill_in import resolve
from ..knowledge.kinds import load_kinds
from ..knowledge.validate import more_faults, typed
from ..model.engine import Engine
from ..model.job import OTHER_WAIVERS, Job, OpenJob
from ..model.kind import Described, General
from ..model.knowledge import Knowledge
from ..model.quantity import QuantityError
from ..model.quantity import parse as parse_quantity
from .figures import figure_faults
from .promises import read_promises
from .sections import MAX_JOB_BYTES, SECTIONS
from .values_in import values_in

USUAL_CYLINDERS, MOST_CYLINDERS = 4, 6
"""Of an engine that nobody knows: what is taken, and what howdeep knows at most."""


def read_job(
    path: str | Path,
    knowledge: Knowledge,
    folders: Sequence[Path],
    *,
    engine: Engine | None = None,
    engines: dict[Path, Sheet] | None = None,
    questions: tuple[str, ...] = (),
    general: General | None = None,
) -> OpenJob:
    """Read a job file. `folders` are the rule folders (for engine sheets). Raises HowdeepError with all faults.

    `engine` is the sheet where it is known already, with what is questioned in it and how it was filled in (`general`);
    `engines` keeps sheets that were read, for reading many jobs.
    """
    document = read(path, max_bytes=MAX_JOB_BYTES)
    beside, digest = Path(path).parent, document.digest
    return _gathered(
        document,
        lambda faults: _checked(
            document, digest, beside, knowledge, folders, faults, engine, engines, questions, general
        ),
    )


def open_text(
    text: str, name: str, beside: Path, knowledge: Knowledge, folders: Sequence[Path], engine: Engine | None = None
) -> OpenJob:
    """The same for text that is not (yet) a file; `beside` is where an own engine sheet would stand."""
    document = parse(text, name)
    digest = digest_of(text.encode())
    return _gathered(document, lambda faults: _checked(document, digest, beside, knowledge, folders, faults, engine))


def _gathered(document: Document, checked: Callable[[_Faults], OpenJob]) -> OpenJob:
    """A job by what checks it and gathers faults. Raises HowdeepError with them once there are too many to go on."""
    faults = _Faults()
    try:
        return checked(faults)
    except _Enough:
        raise HowdeepError([*faults, more_faults(document)]) from None


class _Enough(Exception):
    """So many faults that the rest is not looked at."""


class _Faults(list[Fault]):
    """The faults of one file, up to MOST_FAULTS."""

    def append(self, fault: Fault) -> None:
        super().append(fault)
        if len(self) > MOST_FAULTS:
            raise _Enough

    def extend(self, faults: Iterable[Fault]) -> None:
        for fault in faults:
            self.append(fault)


def _checked(
    document: Document,
    digest: str,
    beside: Path,
    knowledge: Knowledge,
    folders: Sequence[Path],
    faults: _Faults,
    engine: Engine | None = None,
    engines: dict[Path, Sheet] | None = None,
    questions: tuple[str, ...] = (),
    general: General | None = None,
) -> OpenJob:
    if document.value is None:
        raise HowdeepError(document.fault((), "is empty", "a job begins with 'howdeep_job: 1'"))
    if other := another_file(document, "job"):
        raise HowdeepError(other)
    plain = document.value if isinstance(document.value, dict) else {}
    told = plain.get("engine")
    if isinstance(told, dict):
        described = engine_described(document, ("engine",), told, folders, faults)
        # the rest of the program reads a word: the kind that was named, or that the engine is not known
        shown = described.known("kind") or UNKNOWN_ENGINE
        job: Job | None = typed(document, (), {**plain, "engine": shown}, Job, faults)
    else:
        described = None
        job = typed(document, (), document.value, Job, faults)
        if engine is None and isinstance(told, str):
            described = named_kind(told, folders, beside)
    if engine is None and described is not None:
        described = with_cylinders(described, plain, knowledge)
        filled = resolve(load_kinds(folders), described)
        engine, general = filled.engine, filled.general
    elif engine is None and described is None and isinstance(told, str):
        try:
            place = find(plain["engine"], folders, beside)
            sheet = engines.get(place) if engines is not None else None
            if sheet is None:
                sheet = load_sheet(place, folders)
                if engines is not None:
                    engines[place] = sheet
            engine, questions = sheet.engine, tuple(str(item) for item in sheet.questions)
        except HowdeepError as error:
            faults.extend(
                fault if fault.file else document.fault(("engine",), fault.message, fault.hint)
                for fault in error.faults
            )
    values, unknown, later = values_in(document, (), plain, knowledge, engine, faults)
    waived, done, where = plain.get("waived"), plain.get("done"), plain.get("place")
    for name in waived if isinstance(waived, dict) else ():
        if name not in knowledge.holds and name not in OTHER_WAIVERS:
            faults.append(
                document.fault(
                    ("waived", name),
                    f"there is no hold '{name}'",
                    nearest(str(name), (*knowledge.holds, *OTHER_WAIVERS)),
                    at_key=True,
                )
            )
    for number, name in enumerate(done if isinstance(done, list) else ()):
        if isinstance(name, str) and name not in knowledge.operations:
            faults.append(
                document.fault(("done", number), f"there is no operation '{name}'", nearest(name, knowledge.operations))
            )
    for field, unit in (("altitude", "ft"), ("air_temperature", "degF")):
        if isinstance(where, dict) and isinstance(where.get(field), str) and where[field]:
            try:
                parse_quantity(where[field], unit=unit)
            except QuantityError as error:
                faults.append(document.fault(("place", field), str(error)))
    found = plain.get("found")
    causes = found.get("causes") if isinstance(found, dict) else None
    for name in causes if isinstance(causes, dict) else ():
        if name not in knowledge.causes:
            faults.append(
                document.fault(
                    ("found", "causes", name),
                    f"there is no cause '{name}'",
                    nearest(str(name), knowledge.causes),
                    at_key=True,
                )
            )
    faults.extend(figure_faults(document, plain))
    if job is not None and job.promises:
        promises, own = read_promises(document, beside, job.promises)
        job = replace(job, promises=promises)
        faults.extend(own)
    if faults or job is None or engine is None:
        raise HowdeepError(faults)
    places = {name: document.keys[(section, name)] for section in SECTIONS for name in getattr(job, section)}
    return OpenJob(
        document.file,
        digest,
        job,
        engine,
        dict(sorted(values.items())),
        frozenset(unknown),
        frozenset(later),
        places,
        questions,
        general,
    )


def engine_described(
    document: Document, path: Path_, told: dict[str, Any], folders: Sequence[Path], faults: list[Fault]
) -> Described:
    """What a job says of an engine without a sheet; faults are added."""
    return read_described(document, path, told, load_kinds(folders), faults)


def with_cylinders(described: Described, plain: dict[str, Any], knowledge: Knowledge) -> Described:
    """The description with the number of cylinders that the readings show, where nobody says it: a list names every
    one; a higher number than four names at least so many."""
    if described.known("cylinders") or described.known("kind"):
        return described
    lists, numbers = [0], [0]
    for section in SECTIONS:
        given = plain.get(section)
        for name, value in given.items() if isinstance(given, dict) else ():
            item = knowledge.observations.get(name) if isinstance(name, str) else None
            if item is None or item.each not in ("cylinder", "inlet_valve", "exhaust_valve"):
                continue
            if isinstance(value, list):
                lists.append(len(value))
            elif isinstance(value, dict):
                numbers += [key for key in value if isinstance(key, int) and not isinstance(key, bool)]
    count = max(lists) or (max(numbers) if max(numbers) > USUAL_CYLINDERS else 0)
    if not 1 <= count <= MOST_CYLINDERS:
        return described
    build = {**dict(described.build), "cylinders": str(count)}
    return replace(described, build=tuple((name, build[name]) for name in FIELDS if name in build))


def named_kind(name: str, folders: Sequence[Path], beside: Path) -> Described | None:
    """What 'unknown' or the id of a kind says of an engine; None for a name that is neither. A sheet goes first."""
    if name == UNKNOWN_ENGINE:
        return Described()
    if name.endswith(".yaml") or name in sheet_ids(folders, beside):
        return None
    kind = kind_named(name, load_kinds(folders))
    return Described(kind) if kind else None
