"""Kinds of engine, read from rules/kinds and checked."""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, Path_, read
from ..model.engine import Engine, Fit
from ..model.kind import GeneralFigure, Kind
from ..model.quantity import QuantityError, parse
from .build_words import WORDS
from .cache import file_cached
from .sheet_guard import unit_of
from .validate import typed

FOLDER = "kinds"


def kind_files(folders: Sequence[Path]) -> dict[str, Path]:
    """Id -> file, in order of id; a later folder's file takes the place of an earlier one's."""
    found = {path.stem: path for folder in folders for path in sorted((Path(folder) / FOLDER).glob("*.yaml"))}
    return dict(sorted(found.items()))


def _read(path: Path) -> Kind:
    return check_kind(read(path))


def load_kinds(folders: Sequence[Path]) -> dict[str, Kind]:
    """Every kind, in order of id. Raises HowdeepError with all faults of all files."""
    faults: list[Fault] = []
    found: dict[str, Kind] = {}
    for name, path in kind_files(folders).items():
        try:
            found[name] = file_cached("kind", Kind, path, (name,), functools.partial(_read, path))
        except HowdeepError as error:
            faults += error.faults
    if faults:
        raise HowdeepError(faults)
    return found


def check_kind(document: Document) -> Kind:
    """A kind from its document. Raises HowdeepError with every fault: shape, words, figures, ranges the wrong way."""
    faults: list[Fault] = []
    kind = typed(document, (), document.value, Kind, faults)
    if kind is None:
        raise HowdeepError(faults)
    faults += _word_faults(document, kind)
    faults += _figure_faults(document, ("figures",), kind.figures)
    for index, variant in enumerate(kind.variants):
        faults += _figure_faults(document, ("variants", index, "figures"), variant.figures)
    if faults:
        raise HowdeepError(faults)
    return kind


def _word_faults(document: Document, kind: Kind) -> Iterator[Fault]:
    for name, words in kind.choices.items():
        if name not in WORDS:
            yield document.fault(
                ("choices", name), f"'{name}' is no field of the build", nearest(name, WORDS), at_key=True
            )
            continue
        for index, word in enumerate(words):
            if word not in WORDS[name]:
                yield document.fault(
                    ("choices", name, index),
                    f"'{word}' is no word of '{name}'",
                    nearest(word, WORDS[name]) or f"it can be {', '.join(WORDS[name])}",
                )
        if getattr(kind.build, name) not in words:
            yield document.fault(
                ("choices", name), "does not hold how the kind is built as a rule", f"add {getattr(kind.build, name)}"
            )
    for part in ("eras", "variants"):
        for index, item in enumerate(getattr(kind, part)):
            if item.word not in kind.choices.get(item.field, ()):
                yield document.fault(
                    (part, index),
                    f"'{item.field}: {item.word}' is none of the choices of this kind",
                    f"choices: {', '.join(kind.choices)}",
                )
    if not 1 <= kind.build.cylinders <= 6:
        yield document.fault(("build", "cylinders"), f"{kind.build.cylinders} cylinders: 1 to 6 are known")


def _figure_faults(document: Document, path: Path_, figures: Mapping[str, GeneralFigure]) -> Iterator[Fault]:
    for name, figure in figures.items():
        here = (*path, name)
        if name not in figure_names():
            yield document.fault(
                here, f"'{name}' is no figure of an engine sheet", nearest(name, figure_names()), at_key=True
            )
            continue
        try:
            least, value, most = (amount(name, text) for text in (figure.least, figure.value, figure.most))
        except QuantityError as error:
            yield document.fault(here, str(error))
            continue
        if not least <= value <= most:
            yield document.fault(
                here,
                f"'{figure.value}' does not lie from '{figure.least}' to '{figure.most}'",
                "least, value and most stand in this order",
            )


def amount(name: str, text: str) -> float:
    """A figure in the unit of its field. Raises QuantityError."""
    return parse(text, unit=unit_of(name.split(".", maxsplit=1)[0])).to(unit_of(name.split(".", maxsplit=1)[0]))


@functools.cache
def figure_names() -> tuple[str, ...]:
    """Places of an engine sheet at which a kind may give a figure, e.g. 'ring_gap.wear'."""
    fits = (
        "cranking_compression",
        *(item.name for item in dataclasses.fields(Engine) if isinstance(item.default, Fit)),
    )
    names = [f"{name}.{part}" for name in fits for part in ("low", "high", "wear")]
    names += [
        "bore.wear",
        "cranking_rpm",
        "bore_taper",
        "bore_out_of_round",
        "valve_margin",
        "head_flatness",
        "deck_flatness",
        "lash_inlet",
        "lash_exhaust",
        "cap_pressure",
    ]
    names += [
        f"{journal}.{part}"
        for journal in ("crankpins", "mains")
        for part in ("clearance.low", "clearance.high", "clearance.wear", "out_of_round", "taper")
    ]
    return tuple(sorted(names))
