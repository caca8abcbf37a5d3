"""Rule folders to one Knowledge, with every fault of every file at once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..model.causes import Cause, Finding, History, Line
from ..model.judged import Computed
from ..model.knowledge import Doubted, Knowledge, Settings
from ..model.limits import Gauge, Limit
from ..model.observations import Check, Contradiction, FirstLook, FirstQuestions, Hold, Observation, Reduced, Tool
from ..model.operations import Caution, Machining, Operation, Part, Scope
from ..model.sources import Frequency, SourceWork
from . import limits, names
from .figure_guard import Doubt
from .plausible import plausible_table
from .rule_guard import CODE, guard_rules, numbers_of_rules
from .validate import typed

KINDS: dict[str, type] = {
    "sources": SourceWork,
    "limits": Limit,
    "cautions": Caution,
    "parts": Part,
    "machining": Machining,
    "tools": Tool,
    "observations": Observation,
    "checks": Check,
    "reduced": Reduced,
    "causes": Cause,
    "history": History,
    "findings": Finding,
    "lines": Line,
    "operations": Operation,
    "scopes": Scope,
    "contradictions": Contradiction,
    "holds": Hold,
    "first_looks": FirstLook,
    "first_questions": FirstQuestions,
    "frequencies": Frequency,
    "gauges": Gauge,
    "computed": Computed,
}
OTHER_FOLDERS = ("engines", "kinds", "prices", "plausible", "sheet_form", "usual_builds", "asked")
"""Files of a rule folder that are read by other modules."""


def files_of(folder: Path) -> list[tuple[str, Path]]:
    """(kind, file) of every rule file of a folder, in order of name. Raises HowdeepError for a file of no kind."""
    result, faults = [], []
    found = sorted(folder.rglob("*.y*ml"))  # one walk for both endings
    for path in (path for path in found if path.suffix == ".yaml"):
        relative = path.relative_to(folder)
        kind = relative.parts[0] if len(relative.parts) > 1 else path.stem
        if kind in OTHER_FOLDERS:
            continue
        if kind not in KINDS and kind != "settings":
            hint = nearest(kind, [*KINDS, "settings"])
            faults.append(Fault(str(path), 0, 0, f"'{kind}' is no kind of knowledge", hint))
            continue
        result.append((kind, path))
    for path in (path for path in found if path.suffix == ".yml"):
        faults.append(Fault(str(path), 0, 0, "would be passed over", "rule files end in .yaml"))
    if faults:
        raise HowdeepError(faults)
    return result


def digest_of(files: Iterable[Path]) -> str:
    """Hash of the contents of the files, independent of where the folder stands and of line ends."""
    total = hashlib.sha256()
    for path in files:
        total.update(path.name.encode() + b"\0" + path.read_bytes().replace(b"\r\n", b"\n") + b"\0")
    return total.hexdigest()


def _limits_beside(
    document: Document, name: str, fact: Reduced, own: Mapping[str, str], faults: list[Fault]
) -> Iterator[tuple[str, tuple[str, str, str], Limit]]:
    """(id, place, limit) of every limit that is written beside the fact it judges."""
    for limit, item in fact.limits.items():
        place = (name, "limits", limit)
        if not names.ID.fullmatch(limit):
            faults.append(document.fault(place, f"'{limit}' is not an id: small letters, digits, - and _", at_key=True))
        elif f"limits/{limit}" in own:
            faults.append(
                document.fault(place, f"'{limit}' is written twice", f"first in {own[f'limits/{limit}']}", at_key=True)
            )
        else:
            yield limit, place, item


def _with_readings(fact: Reduced) -> Reduced:
    """The fact with the reading that it is judged or graded by, and without the limits that were written beside it."""
    of = fact.judge.of if fact.judge else fact.grade.of if fact.grade else ""
    return replace(fact, taken_from=fact.taken_from or ((of,) if of else ()), limits={})


def load(folders: Sequence[Path]) -> Knowledge:
    """Read the folders, each later one laid over the earlier by id. Raises HowdeepError with all faults."""
    faults: list[Fault] = []
    entries: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    documents: dict[str, tuple[Document, Path_]] = {}
    first: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    first_settings: Settings | None = None
    settings: Settings | None = None
    settings_document: Document | None = None
    version, replaced, all_files = "", [], []
    for layer, folder in enumerate(folders):
        own: dict[str, str] = {}
        for kind, path in files_of(Path(folder)):
            all_files.append(path)
            try:
                document = read(path)
            except HowdeepError as error:
                faults.extend(error.faults)
                continue
            if document.value is None:
                continue
            if not isinstance(document.value, dict):
                faults.append(document.fault((), "a rule file is a mapping from id to entry"))
                continue
            if kind == "settings":
                plain = dict(document.value)
                version = str(plain.pop("version", version))
                settings = typed(document, (), plain, Settings, faults)
                settings_document = document
                if layer:
                    replaced.append("settings")
                else:
                    first_settings = settings
                continue
            for name, plain in document.value.items():
                key = f"{kind}/{name}"
                if not isinstance(name, str) or not names.ID.fullmatch(name):
                    faults.append(
                        document.fault((name,), f"'{name}' is not an id: small letters, digits, - and _", at_key=True)
                    )
                    continue
                if key in own:
                    faults.append(
                        document.fault((name,), f"'{name}' is written twice", f"first in {own[key]}", at_key=True)
                    )
                    continue
                line, _ = document.keys[(name,)]
                own[key] = f"{path}:{line}"
                if name in entries[kind] and layer:
                    replaced.append(key)
                value = typed(document, (name,), plain, KINDS[kind], faults)
                documents[key] = (document, (name,))
                if kind == "reduced" and value is not None:
                    for limit, place, item in _limits_beside(document, name, value, own, faults):
                        documents[f"limits/{limit}"] = (document, place)
                        own[f"limits/{limit}"] = f"{path}:{document.keys[place][0]}"
                        entries["limits"][limit] = item
                        first["limits"].setdefault(limit, item)
                    value = _with_readings(value)
                if value is not None:
                    entries[kind][name] = value
                    if not layer or kind == "limits":
                        first[kind].setdefault(name, value)
                else:
                    entries[kind].setdefault(name, None)
    if settings is None and not faults:
        faults.append(Fault(str(folders[0]), 0, 0, "settings.yaml is missing or not readable"))
    if faults or settings is None or settings_document is None:
        raise HowdeepError(faults)
    heads = settings_document
    places = {}
    for key, (document, place) in documents.items():
        places[key] = (document.file, *document.keys[place])
    places["settings"] = (heads.file, 1, 1)
    in_order: dict[str, Any] = {kind: {name: entries[kind][name] for name in sorted(entries[kind])} for kind in KINDS}
    knowledge = Knowledge(
        version=f"{version}+{digest_of(all_files)[:12]}",
        settings=settings,
        **in_order,
        places=dict(sorted(places.items())),
        replaced=tuple(sorted(replaced)),
    )
    faults = names.check(knowledge, documents)
    in_use, more = limits.compared(knowledge, documents, first["limits"])
    if faults or more:
        raise HowdeepError([*faults, *more])
    table = plausible_table(folders, "rules").values()
    numbers = numbers_of_rules(entries, settings, in_use)
    shipped = (
        {}
        if len(folders) < 2
        else numbers_of_rules(
            first,
            first_settings,
            {name: limits.in_unit_of(limit, in_use[name]) for name, limit in first["limits"].items() if name in in_use},
        )
    )
    refused, questions = guard_rules(table, numbers, shipped, settings.sure)

    def placed(doubt: Doubt) -> Fault:
        head, *rest = doubt.path
        if head in ("settings", "sure"):
            named = [str(part).removeprefix("settings.") for part in doubt.path]
            return heads.fault(
                tuple(named[1:] if head == "settings" else named), doubt.message, doubt.hint, at_key=doubt.at_key
            )
        document, path = documents[f"{head}/{rest[0]}"]
        return document.fault((*path, *rest[1:]), doubt.message, doubt.hint)

    if refused:
        raise HowdeepError([placed(item) for item in refused])
    doubts = []
    for item in questions:
        head, *rest = (str(part) for part in item.path)
        key = head if head == "settings" else f"{head}/{rest.pop(0)}"
        at = placed(item)
        excused = key != "settings" and CODE in entries[head][key.split("/", 1)[1]].excuse
        doubts.append(Doubted(at.file, at.line, at.column, at.message, at.hint, key, tuple(rest), excused))
    return replace(knowledge, limits=in_use, doubts=tuple(sorted(doubts)))
