"""Engine sheets: found by id in rules/engines or beside the job, read with every fault at once."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..files.what_file import another_file
from ..model.engine import Engine, Fit
from ..model.frozen import dataclass
from ..model.plausible import Plausible
from ..model.quantity import QuantityError, parse
from .cache import file_cached
from .kinds import kind_files
from .plausible import plausible_files, plausible_table
from .sheet_guard import guard_sheet, unit_of
from .validate import typed

_NOT_QUANTITIES = {"name", "note", "lash_state", "ignition_timing", "value_running", "replacement"}


SHEETS = "engines"
"""Folder that holds engine sheets, in a rule folder and beside the jobs."""


def find(name: str, folders: Sequence[Path], beside: Path | None = None) -> Path:
    """The file of an engine sheet: a path beside the job if `name` ends in .yaml, else by id: in `engines` beside the
    job, in the shop's rule folder, among the shipped ones."""
    if name.endswith(".yaml"):
        if beside is None:
            raise HowdeepError(Fault("", 0, 0, f"the engine sheet '{name}' has no folder to be looked for in"))
        try:
            path = (beside / name).resolve()
        except (OSError, RuntimeError, ValueError):
            raise HowdeepError(Fault("", 0, 0, f"the engine sheet '{_short(name)}' is not a file's name")) from None
        if not path.is_relative_to(beside.resolve()):
            raise HowdeepError(Fault("", 0, 0, f"the engine sheet '{name}' must stand beside the job"))
        return path
    for folder in reversed([*folders, *_beside(beside)]):
        path = Path(folder) / SHEETS / f"{name}.yaml"
        with contextlib.suppress(OSError, ValueError):  # a name that no file can have
            if path.is_file() and path.parent == Path(folder) / SHEETS:
                return path
    known = [*sheet_ids(folders, beside), *kind_files(folders), "unknown"]
    raise HowdeepError(
        Fault(
            "", 0, 0, f"there is no engine sheet '{_short(name)}'", nearest(name, known) or f"known: {', '.join(known)}"
        )
    )


def _short(name: str) -> str:
    return name if len(name) <= 80 else f"{name[:77]}..."


def sheet_ids(folders: Sequence[Path], beside: Path | None = None) -> list[str]:
    """Ids of every engine sheet in the rule folders, and in `engines` beside the jobs."""
    places = (*folders, *_beside(beside))
    return sorted(
        {
            path.stem
            for folder in places
            for path in (Path(folder) / SHEETS).glob("*.yaml")
            if not path.name.startswith(".")
        }
    )


def _beside(beside: Path | None) -> tuple[Path, ...]:
    return () if beside is None else (Path(beside),)


@dataclass(frozen=True, slots=True)
class Sheet:
    """An engine sheet with what is questioned in it."""

    engine: Engine
    questions: tuple[Fault, ...] = ()


def load_engine(path: Path, folders: Sequence[Path] = ()) -> Engine:
    """One engine sheet. Raises HowdeepError with all faults: shape, units, figures that cannot be."""
    return load_sheet(path, folders).engine


def load_sheet(path: Path, folders: Sequence[Path] = ()) -> Sheet:
    """One engine sheet and what is questioned in it, by the shipped table of plausible figures and those of `folders`.
    Raises HowdeepError as `load_engine` does."""
    also = [file.read_text(encoding="utf-8", errors="replace") for file in plausible_files(folders)]
    sheet = file_cached("engine", Sheet, path, also, lambda: check_sheet(read(path), plausible_table(folders)))
    # the copy hangs on the content alone, and the same content may stand in another file
    return replace(sheet, questions=tuple(replace(item, file=str(path)) for item in sheet.questions))


def check_sheet(document: Document, table: Mapping[str, Plausible]) -> Sheet:
    """A sheet from its document: refused with every fault at once, or read with its questions."""
    if other := another_file(document, "engine sheet"):
        raise HowdeepError(other)
    faults: list[Fault] = []
    engine = typed(document, (), document.value, Engine, faults)
    if engine is None:
        raise HowdeepError(faults)
    for where, text, unit in _figures(engine):
        try:
            parse(text, unit=unit)
        except QuantityError as error:
            faults.append(document.fault(where, str(error)))
    if not 1 <= engine.build.cylinders <= 6:
        faults.append(document.fault(("build", "cylinders"), f"{engine.build.cylinders} cylinders: 1 to 6 are known"))
    if sorted(engine.firing_order) != list(range(1, engine.build.cylinders + 1)):
        faults.append(
            document.fault(("firing_order",), f"{list(engine.firing_order)} does not name each cylinder once")
        )
    if faults:
        raise HowdeepError(faults)
    refused, questions = guard_sheet(engine, document, table)
    if refused:
        raise HowdeepError(refused)
    return Sheet(engine, tuple(sorted(questions)))


def _unit_of(field: str) -> str:
    return unit_of(field)


def _fits(engine: Engine) -> Iterable[tuple[Path_, Fit]]:
    for field in engine.__dataclass_fields__:
        value = getattr(engine, field)
        if isinstance(value, Fit):
            yield (field,), value
        elif field in ("crankpins", "mains") and value is not None:
            yield (field, "size"), value.size
            yield (field, "clearance"), value.clearance


def _figures(engine: Engine) -> Iterable[tuple[Path_, str, str]]:
    """(path, text, unit wanted) of every figure in the sheet."""
    for name, fit in _fits(engine):
        for part in ("low", "high", "wear"):
            if getattr(fit, part):
                yield (*name, part), getattr(fit, part), _unit_of(str(name[0]))
    for field in engine.__dataclass_fields__:
        value = getattr(engine, field)
        if isinstance(value, str) and value and field not in _NOT_QUANTITIES:
            yield (field,), value, _unit_of(field)
    for index, text in enumerate(engine.oversizes):
        yield ("oversizes", index), text, "in"
    for field in ("crankpins", "mains"):
        journal = getattr(engine, field)
        if journal is not None:
            for part in ("out_of_round", "taper", "smallest", "width"):
                if getattr(journal, part):
                    yield (field, part), getattr(journal, part), "in"
            for index, text in enumerate(journal.undersizes):
                yield (field, "undersizes", index), text, "in"
    for key, torque in engine.torques.items():
        yield ("torques", key, "value"), torque.value, "ft-lb"
        if torque.least:
            yield ("torques", key, "least"), torque.least, "ft-lb"
        for index, text in enumerate(torque.stages):
            yield ("torques", key, "stages", index), text, "ft-lb"
