"""A job file to an OpenJob, with every fault at once."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from ..errors import MOST_FAULTS, Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, digest_of, parse, read
from ..knowledge.engine_facts import count_of
from ..knowledge.engines import Sheet, find, load_sheet
from ..knowledge.shapes import more_faults, typed
from ..model.engine import Engine
from ..model.job import OTHER_WAIVERS, Job, OpenJob
from ..model.knowledge import Knowledge
from ..quantity import QuantityError
from ..quantity import parse as parse_quantity
from .figures import figure_faults
from .sections import LATER, MAX_JOB_BYTES, SECTIONS, UNKNOWN, section_of
from .values import value_of


def read_job(path: str | Path, knowledge: Knowledge, folders: Sequence[Path], *, engine: Engine | None = None,
             engines: dict[Path, Sheet] | None = None, questions: tuple[str, ...] = ()) -> OpenJob:
    """Read a job file. `folders` are the rule folders (for engine sheets). Raises HowdeepError with all faults.

    `engine` is the sheet where it is known already, with what is questioned in it; `engines` keeps sheets that were
    read, for reading many jobs.
    """
    document = read(path, max_bytes=MAX_JOB_BYTES)
    return _open(document, document.digest, Path(path).parent, knowledge, folders, engine, engines, questions)


def open_text(text: str, name: str, beside: Path, knowledge: Knowledge, folders: Sequence[Path],
              engine: Engine | None = None) -> OpenJob:
    """The same for text that is not (yet) a file; `beside` is where an own engine sheet would stand."""
    document = parse(text, name)
    return _open(document, digest_of(text.encode()), beside, knowledge, folders, engine)


def _open(document: Document, digest: str, beside: Path, knowledge: Knowledge, folders: Sequence[Path],
          engine: Engine | None, engines: dict[Path, Sheet] | None = None,
          questions: tuple[str, ...] = ()) -> OpenJob:
    faults = _Faults()
    try:
        return _checked(document, digest, beside, knowledge, folders, engine, engines, faults,
                        questions)
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


def _checked(document: Document, digest: str, beside: Path, knowledge: Knowledge, folders: Sequence[Path],
             engine: Engine | None, engines: dict[Path, Sheet] | None, faults: _Faults,
             questions: tuple[str, ...]) -> OpenJob:
    if document.value is None:
        raise HowdeepError(document.fault((), "is empty", "a job begins with 'howdeep_job: 1'"))
    job: Job | None = typed(document, (), document.value, Job, faults)
    plain = document.value if isinstance(document.value, dict) else {}
    if engine is None and isinstance(plain.get("engine"), str):
        try:
            place = find(plain["engine"], folders, beside)
            sheet = engines.get(place) if engines is not None else None
            if sheet is None:
                sheet = load_sheet(place, folders)
                if engines is not None:
                    engines[place] = sheet
            engine, questions = sheet.engine, tuple(str(item) for item in sheet.questions)
        except HowdeepError as error:
            faults.extend(fault if fault.file else document.fault(("engine",), fault.message, fault.hint)
                          for fault in error.faults)
    values, unknown, later = values_in(document, (), plain, knowledge, engine, faults)
    for name in plain.get("waived") if isinstance(plain.get("waived"), dict) else ():
        if name not in knowledge.holds and name not in OTHER_WAIVERS:
            faults.append(document.fault(("waived", name), f"there is no hold '{name}'",
                                         nearest(str(name), (*knowledge.holds, *OTHER_WAIVERS)), at_key=True))
    for field, unit in (("altitude", "ft"), ("air_temperature", "degF")):
        place = plain.get("place")
        if isinstance(place, dict) and isinstance(place.get(field), str) and place[field]:
            try:
                parse_quantity(place[field], unit=unit)
            except QuantityError as error:
                faults.append(document.fault(("place", field), str(error)))
    found = plain.get("found")
    causes = found.get("causes") if isinstance(found, dict) else None
    for name in causes if isinstance(causes, dict) else ():
        if name not in knowledge.causes:
            faults.append(document.fault(("found", "causes", name), f"there is no cause '{name}'",
                                         nearest(str(name), knowledge.causes), at_key=True))
    faults.extend(figure_faults(document, plain))
    if faults or job is None or engine is None:
        raise HowdeepError(faults)
    places = {name: document.keys[(section, name)] for section in SECTIONS for name in getattr(job, section)}
    return OpenJob(document.file, digest, job, engine, dict(sorted(values.items())), frozenset(unknown),
                   frozenset(later), places, questions)


def values_in(document: Document, path: tuple, plain: dict, knowledge: Knowledge, engine: Engine | None,
              faults: list[Fault]) -> tuple[dict[str, Any], set[str], set[str]]:
    """(values, "don't know", "not now") of the three sections of `plain`, which stands at `path` of the document."""
    values: dict[str, Any] = {}
    unknown: set[str] = set()
    later: set[str] = set()
    for section in SECTIONS:
        given = plain.get(section)
        for name, item in (given.items() if isinstance(given, dict) else ()):
            _one(document, (*path, section, name), item, knowledge, engine, values, unknown, later, faults)
    return values, unknown, later


def _one(document: Document, path: tuple, item: Any, knowledge: Knowledge, engine: Engine | None, values: dict,
         unknown: set, later: set, faults: list[Fault]) -> None:
    section, name = path[-2:]
    observation = knowledge.observations.get(name) if isinstance(name, str) else None
    if observation is None:
        faults.append(document.fault(path, f"there is no observation '{name}'",
                                     nearest(str(name), knowledge.observations), at_key=True))
        return
    if section_of(observation) != section:
        faults.append(document.fault(path, f"'{name}' does not belong under '{section}'",
                                     f"it belongs under '{section_of(observation)}'", at_key=True))
        return
    if item == UNKNOWN or item is None:
        unknown.add(name)
    elif item == LATER:
        later.add(name)
    elif engine is not None:
        value = value_of(observation, item, count_of(engine, observation.each),
                         lambda where, message, hint: faults.append(
                             document.fault((*path, *where), message, hint)))
        if value is not None:
            values[name] = value
        elif not faults:
            unknown.add(name)
