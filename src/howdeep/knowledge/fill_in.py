"""An engine without a sheet filled in from what is known of it and the nearest kind."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Mapping, Sequence
from typing import Any

from ..model.engine import Build, Engine, Fit, Journal, StandIn
from ..model.frozen import dataclass
from ..model.kind import Described, General, GeneralFigure, Kind, Standing

MAIN = ("fuel", "cylinders", "layout", "use", "cooling", "year")
"""What is asked of an engine that has no sheet, in this order."""
WEIGHTS = {"fuel": 100, "layout": 8, "cylinders": 6, "use": 5, "cooling": 4, "year": 3}
"""How much each point counts for one kind against another (judgement); every other field of the build counts 1."""
FIRING = {1: (1,), 2: (1, 2), 3: (1, 3, 2), 4: (1, 3, 4, 2), 5: (1, 2, 4, 5, 3), 6: (1, 5, 3, 6, 2, 4)}
"""Common firing orders (common practice); nothing is judged by them."""
USE_BRINGS: dict[str, dict[str, str]] = {
    "marine": {
        "frame": "in_frame",
        "pan_in_frame": "no",
        "mains_in_frame": "no",
        "rear_seal_needs": "engine_out",
        "cooling": "raw_water",
    },
    "stationary": {"frame": "bench", "rear_seal_needs": "engine_out"},
    "farm": {"frame": "is_frame", "rear_seal_needs": "split", "pan_in_frame": "yes"},
    "light_vehicle": {"frame": "in_frame", "rear_seal_needs": "split", "pan_in_frame": "yes"},
}
"""What another use than the kind's own brings with it, where it is not said (judgement)."""
_YEAR = re.compile(
    r"(?:about|circa|c\.?|the|early|late|mid)?[ -]*(1[89]\d\d|20\d\d)(s)?(?:\s*(?:-|to|or|/)\s*(\d{2,4})s?)?\Z"
)
UNKNOWN = "unknown"
"""Asked, and nobody knows."""
FIRST_YEAR, LAST_YEAR = 1890, 2030
TWELVE_VOLTS = 1955
"""From this year on a petrol engine with electrics is taken to have twelve volts (judgement)."""


@dataclass(frozen=True, slots=True)
class Resolved:
    """An engine filled in, and how."""

    engine: Engine
    general: General


def years_of(text: str) -> tuple[int, int] | None:
    """First and last year that 'about 1936', '1930s' or '1935-40' means; None where it says none."""
    match = _YEAR.match(text.strip().lower())
    if not match:
        return None
    first, decade, second = int(match.group(1)), match.group(2), match.group(3)
    last = first + 9 if decade else first
    if second:
        last = int(second) if len(second) == 4 else first // 100 * 100 + int(second) if len(second) == 2 else 0
    return (first, last) if FIRST_YEAR <= first <= last <= LAST_YEAR else None


def nearest_kinds(kinds: Mapping[str, Kind], described: Described) -> list[str]:
    """Ids of the kinds, the one that fits best what is known first; of two that fit alike the commoner one."""
    named = described.known("kind")
    if named in kinds:
        return [named, *(name for name in kinds if name != named)]
    return sorted(kinds, key=lambda name: (-_fit(kinds[name], described), kinds[name].place, name))


def _fit(kind: Kind, described: Described) -> float:
    total = 0.0
    for name, word in described.build:
        if word == UNKNOWN:
            continue
        own = str(getattr(kind.build, name))
        weight = WEIGHTS.get(name, 1)
        if word == own:
            total += weight
        elif word in kind.choices.get(name, ()):
            total += 0.8 * weight
        elif name == "cylinders":
            total -= 0.5 * abs(int(word) - kind.build.cylinders) + (weight if "1" in (word, own) else 0)
        else:
            total -= weight
    years = years_of(described.known("year"))
    if years:
        first, last = kind.years
        off = max(first - years[1], years[0] - last, 0)
        total += WEIGHTS["year"] * (1 - min(off, 40) / 10)
    return total


def fuel_implied(build: Mapping[str, str]) -> str:
    """What an engine must burn by what else is said of it; empty where that says nothing."""
    if build.get("fuel", UNKNOWN) != UNKNOWN:
        return build["fuel"]
    if (
        build.get("ignition", UNKNOWN) not in (UNKNOWN, "none")
        or build.get("layout") == "side_valve"
        or build.get("carburettor", UNKNOWN) not in (UNKNOWN, "none")
    ):
        return "petrol"
    if build.get("ignition") == "none" or build.get("cold_aid", UNKNOWN) not in (UNKNOWN, "none"):
        return "diesel"
    return ""


def _with_fuel(described: Described) -> Described:
    """The description with the fuel that the rest of it implies."""
    build = dict(described.build)
    fuel = fuel_implied(build)
    if not fuel or described.known("fuel"):
        return described
    return dataclasses.replace(
        described, build=(("fuel", fuel), *((name, word) for name, word in described.build if name != "fuel"))
    )


def resolve(kinds: Mapping[str, Kind], described: Described) -> Resolved:
    """An engine as far as it is known, and the rest as the nearest kind is built. Pure. `kinds` is not empty."""
    described, as_said = _with_fuel(described), described
    name = nearest_kinds(kinds, described)[0]
    kind = kinds[name]
    said = {field: word for field, word in described.build if word != UNKNOWN}
    build = _build(kind, said, years_of(described.known("year")))
    figures = figures_for(kind, build)
    if not _sure_enough(described, said):
        figures = {path: figure for path, figure in figures.items() if not path.startswith("cranking_compression")}
    engine = _engine(name, kind, described, build, figures)
    assumed = tuple(
        (item.name, str(getattr(build, item.name)))
        for item in dataclasses.fields(Build)
        if item.name not in said and not _settled(kind, described, item.name)
    )
    standing = tuple(
        Standing(
            path, item.value, item.least, item.most, tuple(dict.fromkeys(source.standing for source in item.source))
        )
        for path, item in sorted(figures.items())
    )
    return Resolved(engine, General(as_said, name, kind.name, assumed, standing))


def _sure_enough(described: Described, said: Mapping[str, str]) -> bool:
    """Whether enough is known to say what compression such an engine shows: no engine is called low by the figure of
    another kind."""
    return bool(described.known("kind")) or said.get("fuel") == "diesel" or {"fuel", "layout"} <= said.keys()


def _settled(kind: Kind, described: Described, name: str) -> bool:
    """Whether a kind that was named says how its engines are built in this point."""
    return bool(described.known("kind")) and name not in kind.choices


def _build(kind: Kind, said: Mapping[str, str], years: tuple[int, int] | None) -> Build:
    words: dict[str, Any] = {item.name: getattr(kind.build, item.name) for item in dataclasses.fields(Build)}
    if years:
        for era in kind.eras:
            if era.first <= years[0] and years[1] <= era.last:
                words[era.field] = era.word
    if said.get("use", kind.build.use) != kind.build.use:
        words.update(USE_BRINGS[said["use"]])
    words.update(said)
    words["cylinders"] = int(words["cylinders"])

    def follows(name: str, word: str) -> None:
        """What goes with the rest, where it is not said."""
        if name not in said:
            words[name] = word

    if words["fuel"] == "diesel":
        follows("carburettor", "none")
        follows("ignition", "none")
    else:
        follows("cold_aid", "none")
    if words["cooling"] == "air":
        follows("oil_cooler", "no")
        if words["bores"] == "wet_sleeves":
            follows("bores", "in_block")
    if words["oiling"] == "splash":
        follows("oil_gauge", "no")
    if words["volts"] == "none" and "volts" in said:
        follows("electric_start", "no")
    needs_volts = words["electric_start"] == "yes" or words["ignition"] == "battery"
    if not needs_volts:
        follows("volts", "none")
    elif words["volts"] == "none":
        follows("volts", "12" if words["fuel"] == "diesel" or (years and years[0] >= TWELVE_VOLTS) else "6")
    return Build(**words)


def figures_for(kind: Kind, build: Build) -> dict[str, GeneralFigure]:
    """The figures of a kind that go with how an engine is built, by their place in a sheet."""
    figures = dict(kind.figures)
    for variant in kind.variants:
        if str(getattr(build, variant.field)) == variant.word:
            figures.update(variant.figures)
    if build.bores != "wet_sleeves":
        figures = {path: figure for path, figure in figures.items() if not path.startswith("sleeve_protrusion")}
    if build.oiling == "splash":
        figures = {path: figure for path, figure in figures.items() if not path.startswith("oil_pressure")}
    return figures


def _engine(name: str, kind: Kind, described: Described, build: Build, figures: Mapping[str, GeneralFigure]) -> Engine:
    engine = Engine(
        name=title_of(kind, described, build),
        build=build,
        bore=Fit(),
        stroke="",
        firing_order=FIRING[build.cylinders],
        note=kind.note,
        rings_per_piston=kind.rings_per_piston,
        lash_state=kind.lash_state,
        crankpins=Journal(Fit(), Fit()),
        mains=Journal(Fit(), Fit(), count=kind.mains_count if build.cylinders == kind.build.cylinders else 0),
    )
    for path, figure in figures.items():
        engine = with_figure(engine, path, stand_in(name, path, figure.value))
    return engine


def stand_in(kind: str, path: str, text: str) -> StandIn:
    """A figure of a kind that says what it is."""
    return StandIn(text, f"general limit {kind} {path}")


def with_figure(engine: Engine, path: str, text: StandIn) -> Engine:
    """The engine with one figure of a kind in its place."""
    parts = path.split(".")

    def put(value: Any, names: Sequence[str]) -> Any:
        if not names:
            return text
        here = getattr(value, names[0])
        return dataclasses.replace(value, **{names[0]: put(Fit() if here is None else here, names[1:])})

    changed: Engine = put(engine, parts)
    return changed


_YEARS_OFF = re.compile(r"^(?:about|circa|c\.?|the)? *(?:the )?")
_COUNT = {1: "single", 2: "twin", 3: "three", 4: "four", 5: "five", 6: "six"}


def years_words(text: str) -> str:
    """'about 1936', 'of the 1930s'; empty where nothing is said."""
    plain = _YEARS_OFF.sub("", text)
    return f"of the {plain}" if plain.endswith("s") else f"about {plain}" if plain else ""


def title_of(kind: Kind, described: Described, build: Build) -> str:
    """'Unknown engine: petrol four, side valve (general figures of a side-valve petrol four)'."""
    said = {name: described.known(name) for name in ("fuel", "cylinders", "layout", "use", "cooling", "year")}
    words = [
        said["fuel"],
        _COUNT[build.cylinders] if said["cylinders"] else "",
        said["layout"].replace("_", " "),
        said["use"].replace("_", " "),
        years_words(said["year"]),
    ]
    told = ", ".join(word for word in words if word)
    if described.known("kind"):
        return f"{kind.name}{f' ({told})' if told else ''}, by general figures"
    if not told:
        return f"Unknown engine, taken as: {kind.name.lower()}"
    return f"Unknown engine: {told}; taken as: {kind.name.lower()}"
