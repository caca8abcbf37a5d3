"""Kinds of engine: every figure says where it comes from, and none is one that can hardly be right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..knowledge.fill_in import resolve
from ..knowledge.kinds import check_kind, kind_files
from ..knowledge.load import KINDS
from ..knowledge.plausible import plausible_table
from ..knowledge.sheet_guard import guard_sheet
from ..knowledge.validate import typed
from ..model.kind import Described, GeneralFigure, Kind


def kind_faults(folders: Sequence[Path]) -> tuple[tuple[Fault, ...], tuple[Fault, ...]]:
    """(faults of kinds that cannot be read or point to no work in the register, what is questioned in the others).

    Every kind is put to the guard of engine sheets as it is built as a rule and with each of its choices.
    """
    known = registered(folders)
    faults: list[Fault] = []
    questions: list[Fault] = []
    for name, path in kind_files(folders).items():
        try:
            document = read(path)
            kind = check_kind(document)
        except HowdeepError as error:
            faults.extend(error.faults)
            continue
        faults.extend(_source_faults(document, kind, known))
        questions.extend(_questions(document, name, kind, folders))
    return tuple(faults), tuple(dict.fromkeys(questions))


def registered(folders: Sequence[Path]) -> frozenset[str]:
    """Ids of the published works of the rule folders; faults of their files are the loader's."""
    found: set[str] = set()
    for folder in folders:
        for path in (Path(folder) / "sources.yaml", *sorted((Path(folder) / "sources").glob("*.yaml"))):
            if path.is_file():
                document = read(path)
                for name, plain in document.value.items() if isinstance(document.value, dict) else ():
                    if typed(document, (name,), plain, KINDS["sources"], []) is not None:
                        found.add(name)
    return frozenset(found)


def _figures(kind: Kind) -> Iterator[tuple[Path_, GeneralFigure]]:
    for name, figure in kind.figures.items():
        yield ("figures", name), figure
    for index, variant in enumerate(kind.variants):
        for name, figure in variant.figures.items():
            yield ("variants", index, "figures", name), figure


def _source_faults(document: Document, kind: Kind, known: frozenset[str]) -> Iterator[Fault]:
    for path, figure in _figures(kind):
        if not figure.source:
            yield document.fault(path, "does not say where it comes from", "write source with a standing")
        for index, source in enumerate(figure.source):
            if source.standing == "published" and source.of not in known:
                yield document.fault(
                    (*path, "source", index),
                    f"there is no source '{source.of}' in the register",
                    nearest(source.of, known),
                )
            elif source.standing == "published" and not source.where.strip():
                yield document.fault(
                    (*path, "source", index),
                    f"names '{source.of}' without saying where in it",
                    "write the paragraph, table or page",
                )


def _questions(document: Document, name: str, kind: Kind, folders: Sequence[Path]) -> Iterator[Fault]:
    table = plausible_table(folders)
    builds: list[tuple[tuple[str, str], ...]] = [()]
    builds += [((field, word),) for field, words in kind.choices.items() for word in words]
    for build in builds:
        refused, questioned = guard_sheet(resolve({name: kind}, Described(name, "", build)).engine, document, table)
        yield from (*refused, *questioned)
