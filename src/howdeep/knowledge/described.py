"""What a job says of an engine that has no sheet, read with every fault at its place."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from typing import Any

from ..errors import Fault, nearest
from ..files.strict_yaml import Document, Path_
from ..model.engine import Build
from ..model.kind import Described, Kind
from .build_words import hint_for, word_for, words_in
from .figure_words import FIELDS as CALLED
from .fill_in import FIRST_YEAR, LAST_YEAR, MAIN, UNKNOWN, fuel_implied, years_of

FIELDS = tuple(item.name for item in dataclasses.fields(Build))


def read_described(
    document: Document, path: Path_, plain: Mapping[str, Any], kinds: Mapping[str, Kind], faults: list[Fault]
) -> Described:
    """`plain`, the mapping at `path` of the document, as a description; faults are added, all of them at once."""
    build: dict[str, str] = {}
    kind = year = ""
    for key, value in plain.items():
        here = (*path, key)
        if isinstance(value, (dict, list)):
            faults.append(document.fault(here, f"'{key}' is one word here, not several"))
        elif key == "kind":
            kind = _kind(document, here, value, kinds, faults)
        elif key == "year":
            year = _year(document, here, value, faults)
        elif key in FIELDS:
            word = word_for(key, value) if value is not None else UNKNOWN
            if word is None:
                faults.append(
                    document.fault(here, f"'{value}' is no word for '{key}' ({CALLED[key]})", hint_for(key, value))
                )
            else:
                build[key] = word
        else:
            known = (*MAIN, "kind", *FIELDS)
            faults.append(
                document.fault(
                    here,
                    f"'{key}' is nothing that is asked of an engine here",
                    nearest(str(key), known) or f"most is told by {', '.join(MAIN)}; or by kind",
                    at_key=True,
                )
            )
    faults.extend(
        document.fault((*path, name), message, hint)
        for name, message, hint in contradictions_of(build, kinds.get(kind))
    )
    return Described(kind, year, tuple((name, build[name]) for name in FIELDS if name in build))


def _kind(document: Document, here: Path_, value: Any, kinds: Mapping[str, Kind], faults: list[Fault]) -> str:
    if value is None or word_for("fuel", value) == UNKNOWN:
        return UNKNOWN
    name = kind_named(str(value), kinds)
    if name:
        return name
    faults.append(document.fault(here, f"'{value}' is no kind of engine known here", kinds_hint(str(value), kinds)))
    return ""


def kind_named(text: str, kinds: Mapping[str, Kind]) -> str:
    """The id of the kind that is called so: by its id, its name or another word for it; empty where none is."""
    plain = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    for name, kind in kinds.items():
        called = (name, kind.name, *kind.words)
        if plain in {" ".join(word.lower().replace("-", " ").split()) for word in called}:
            return name
    return ""


def kinds_hint(text: str, kinds: Mapping[str, Kind]) -> str:
    """The kinds with the most like name, else all of them."""
    return nearest(text, [*kinds, *(kind.name.lower() for kind in kinds.values())]) or f"known: {', '.join(kinds)}"


def _year(document: Document, here: Path_, value: Any, faults: list[Fault]) -> str:
    if value is None or word_for("fuel", value) == UNKNOWN:
        return UNKNOWN
    if years_of(str(value)) is None:
        faults.append(
            document.fault(
                here,
                f"'{value}' does not say about when it was built",
                f"write a year, a decade or two years from {FIRST_YEAR} to {LAST_YEAR}: "
                "1936, 1930s, 1935-1940, or unknown",
            )
        )
        return ""
    return str(value).strip()


def contradictions_of(build: Mapping[str, str], kind: Kind | None = None) -> Iterator[tuple[str, str, str]]:
    """(field, what is wrong, what to do) of everything said of an engine that cannot stand together."""
    fuel = build.get("fuel", "")
    if kind is not None and fuel not in ("", UNKNOWN, kind.build.fuel):
        yield (
            "fuel",
            f"'{fuel}' contradicts the kind: a {kind.name.lower()} burns {kind.build.fuel}",
            "take out one of the two",
        )
    fuel = kind.build.fuel if kind is not None else fuel_implied(build)
    if fuel == "diesel":
        for name, none in (("ignition", "none"), ("carburettor", "none")):
            if build.get(name, none) not in (none, UNKNOWN):
                yield name, f"'{build[name]}': a diesel has no {name}", f"take out {name}"
        if build.get("layout") == "side_valve":
            yield (
                "layout",
                "'side_valve': the diesels known here have their valves in the head",
                "overhead_valve, or fuel: petrol",
            )
    if fuel == "petrol":
        if build.get("ignition") == "none":
            yield "ignition", "'none': a petrol engine has a spark", "battery or magneto"
        if build.get("cold_aid", "none") not in ("none", UNKNOWN):
            yield "cold_aid", f"'{build['cold_aid']}' belongs to a diesel", "take out cold_aid, or fuel: diesel"
    if build.get("cooling") == "air" and build.get("bores") == "wet_sleeves":
        yield "bores", "'wet_sleeves': an air-cooled engine has no water round its sleeves", "take out one of the two"


def described_by(text: str, kinds: Mapping[str, Kind]) -> tuple[Described | None, list[str]]:
    """(what is known, words that mean nothing here) of one line such as 'petrol four, side valve, 1936', of the name
    of a kind, or of 'unknown'; None where it says nothing of an engine."""
    if word_for("fuel", text) == UNKNOWN:
        return Described(), []
    if name := kind_named(text, kinds):
        return Described(name), []
    words = text.split()
    year = next((word.strip(",.;") for word in words if years_of(word.strip(",.;")) is not None), "")
    found, rest = words_in(
        " ".join(word for word in words if word.strip(",.;") != year), [name for name in MAIN if name != "year"]
    )
    rest = [word for word in rest if word not in _FILLERS]
    if not found and not year:
        return None, rest
    return Described("", year, tuple((name, found[name]) for name in FIELDS if name in found)), rest


_FILLERS = frozenset(
    {
        "a",
        "an",
        "the",
        "engine",
        "with",
        "of",
        "about",
        "old",
        "from",
        "in",
        "cylinder",
        "cylinders",
        "cyl",
        "valve",
        "valves",
        "cooled",
        "and",
        "some",
        "small",
        "make",
        "built",
    }
)


def plain_described(described: Described) -> dict[str, str | int] | str:
    """A description as it stands in a job: a mapping, or 'unknown' where nothing was said."""
    plain = {
        **({"kind": described.kind} if described.kind else {}),
        **dict(described.build),
        **({"year": described.year} if described.year else {}),
    }
    return {
        name: int(word) if name in ("cylinders", "year") and word.isdigit() else word for name, word in plain.items()
    } or UNKNOWN
