"""One guard for every figure of an engine sheet: what cannot be is refused, what can hardly be is questioned.

The ranges and orders are data (rules/plausible.yaml), held by figure_guard.py; here are the figures of a sheet, and the
few checks that read several of them together: stages, threads, units beside each other, sizes in a row, skirt and bore,
journals and cylinders. A word in the sheet (`sure`) settles a question, never a refusal.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import Document
from ..model.engine import Engine, Fit, Torque
from ..model.plausible import Plausible
from ..model.quantity import parse
from . import figure_guard
from .fasteners import check
from .figure_guard import FUZZ, Doubt, Number, Path_, by_length, hold_all, paths_of, settled, told

ATMOSPHERE, POLYTROPE = 14.696, 1.25
"""psi at sea level (US Standard Atmosphere 1976); exponent between no heat lost (1.4) and none kept (1), as cranked."""
FIRST_STAGE, LAST_STEP = (0.12, 0.62), 2.28
"""Share of the torque that a first stage is, and how many times the last a stage may be (judgement)."""
NEIGHBOURS = 12.0
"""How many times its neighbour a size in a row may be: 0.001 and 0.010 in stand side by side (judgement)."""
_UNITS = {
    "cranking_compression": "psi",
    "cranking_rpm": "rpm",
    "compression_spread": "psi",
    "compression_spread_percent": "percent",
    "compression_above": "psi",
    "wet_rise": "psi",
    "wet_rise_percent": "percent",
    "blow_by": "ft3/h",
    "blow_by_rpm": "rpm",
    "spring_load": "lbf",
    "oil_pressure_idle": "psi",
    "oil_pressure_speed": "psi",
    "cap_pressure": "psi",
    "torques": "ft-lb",
}
NO_FIGURES = (
    "name",
    "note",
    "lash_state",
    "ignition_timing",
    "source",
    "sure",
    "build",
    "firing_order",
    "fluids",
    "assumed",
)
OTHER_UNIT = ", and the other figures of "
"""What a question says that is about units beside each other alone."""
MONEY = ("value_running", "replacement")
PLAIN = ("hours", "compression_ratio", "rings_per_piston", *MONEY)
"""Fields whose figures are numbers without a unit."""


def unit_of(name: str) -> str:
    """The unit in which figures under a field of the sheet are compared."""
    return _UNITS.get(name, "in")


def numbers_of(engine: Engine) -> dict[Path_, Number]:
    """Every figure of a sheet by its path. Raises QuantityError for one that is no quantity."""
    found: dict[Path_, Number] = {}
    for item in fields(engine):
        if item.name not in NO_FIGURES:
            for path, raw in _leaves((item.name,), getattr(engine, item.name)):
                number = _number(path, raw)
                if number is not None:
                    found[path] = number
    return found


def _leaves(path: Path_, value: Any) -> Iterator[tuple[Path_, Any]]:
    if is_dataclass(value):
        for item in fields(value):
            if item.name not in ("source", "size", "grade", "lubricated") or isinstance(getattr(value, item.name), Fit):
                yield from _leaves((*path, item.name), getattr(value, item.name))
    elif isinstance(value, Mapping):
        for name, item in value.items():
            yield from _leaves((*path, name), item)
    elif isinstance(value, tuple):
        for index, item in enumerate(value):
            yield from _leaves((*path, index), item)
    else:
        yield path, value


def _number(path: Path_, raw: Any) -> Number | None:
    if raw is None or raw == "" or (path[-1] == "count" and raw == 0):
        return None
    if isinstance(raw, (int, float)):
        return Number(float(raw), f"{raw:g}")
    if path[0] in MONEY:
        try:
            return Number(float(raw.replace(",", "")), raw)
        except ValueError:
            return None
    unit = unit_of(str(path[0]))
    typed = parse(raw, unit=unit)
    return Number(typed.to(unit), raw, typed)


@dataclass(slots=True)
class Guard(figure_guard.Guard):
    """The guard of one sheet."""

    engine: Engine = field(kw_only=True)


def guard_sheet(engine: Engine, document: Document, table: Mapping[str, Plausible]) -> tuple[list[Fault], list[Fault]]:
    """What is refused and what is questioned in a sheet whose figures are all quantities."""
    numbers = numbers_of(engine)
    guard = Guard(
        numbers,
        lambda path: unit_of(str(path[0])),
        lambda _, other: _expected(engine) if other == ("expected_cranking",) else numbers.get(other),
        lambda path: f"the sheet says so: sure: {{{told(path)}: why}}",
        engine=engine,
    )
    grouped = by_length(numbers)
    may_be_nothing = {path for row in table.values() if row.zero for path, _ in paths_of(row, grouped)}
    for path, number in numbers.items():
        if number.value < 0:
            guard.refuse(path, f"{told(path)} is {number.text}: a figure of a sheet is never below nothing")
        elif number.value == 0 and path not in may_be_nothing:
            guard.refuse(
                path, f"{told(path)} is {number.text}: nothing is no figure", "leave it out where it is not known"
            )
    hold_all(guard, table.values(), engine.build.fuel)
    for special in (_rows, _stages, _threads, _units_beside, _skirt, _counts):
        special(guard)
    asked = settled(guard, engine.sure, "sheet")

    def placed(found: Iterable[Doubt]) -> list[Fault]:
        return [document.fault(item.path, item.message, item.hint, at_key=item.at_key) for item in found]

    return placed(guard.refused), placed(asked)


def _expected(engine: Engine) -> Number | None:
    if not engine.compression_ratio or engine.compression_ratio <= 1:
        return None
    value = ATMOSPHERE * (engine.compression_ratio**POLYTROPE - 1)
    return Number(value, f"{value:.0f} psi from the ratio {engine.compression_ratio:g}")


# --- what reads several figures together ---


def _rows(guard: Guard) -> None:
    """Sizes in a row rise, and no neighbour is many times the other."""
    for where in (("oversizes",), ("crankpins", "undersizes"), ("mains", "undersizes")):
        row = [(path, item) for path, item in guard.numbers.items() if path[:-1] == where]
        _rising(
            guard,
            row,
            NEIGHBOURS,
            "stands after",
            "sizes rise from the smallest",
            "perhaps a decimal point or a unit of one of them is wrong",
        )


def _rising(
    guard: Guard, row: Sequence[tuple[Path_, Number]], longest: float, after: str, refused: str, perhaps: str
) -> None:
    """Figures in a row rise, none to more than `longest` times the one before. `after`: 'stands after'; `refused`: what
    is said where one does not rise; `perhaps`: what a long step may be."""
    for (_, before), (path, item) in itertools.pairwise(row):
        stands = f"{told(path)} {item.text} {after} {before.text}"
        if item.value <= before.value + FUZZ:
            guard.refuse(path, f"{stands}: {refused}")
        elif before.value > 0 and item.value / before.value > longest:
            guard.question(path, f"{stands}: that is a long step", perhaps)


def _stages(guard: Guard) -> None:
    """Stages rise to the torque in even steps."""
    for name in guard.engine.torques:
        final = guard.numbers.get(("torques", name, "value"))
        row = [(path, item) for path, item in guard.numbers.items() if path[:3] == ("torques", name, "stages")]
        if not row or final is None or final.value <= 0:
            continue
        _rising(guard, row, LAST_STEP, "comes after", "stages rise to the torque", "perhaps a stage is missing")
        path, last = row[-1]
        if last.value > final.value * 1.001:
            guard.refuse(path, f"{told(path)} {last.text} is more than the torque itself ({final.text})")
        elif last.value < final.value * 0.999:
            guard.question(
                path,
                f"the last of {told(path[:3])} is {last.text}, and the torque {final.text}",
                "perhaps the last stage is missing",
            )
        path, first = row[0]
        if not FIRST_STAGE[0] <= first.value / final.value <= FIRST_STAGE[1] and len(row) > 1:
            guard.question(
                path,
                f"{told(path)} {first.text} is {100 * first.value / final.value:.0f} % of the torque: a "
                "first stage is usually a third to a half of it",
                "perhaps a stage is missing",
            )


def _threads(guard: Guard) -> None:
    """A torque suits its thread and grade."""
    for name, torque in guard.engine.torques.items():
        path, number = ("torques", name, "value"), guard.numbers.get(("torques", name, "value"))
        if not (torque.size and torque.grade) or number is None or number.typed is None or number.value <= 0:
            continue
        try:
            checked = check(number.typed, torque.size, torque.grade, lubricated=_oiled(torque))
        except HowdeepError as error:
            guard.question(("torques", name, "size"), str(error))
            continue
        if checked.word != "plausible":
            guard.question(
                path,
                f"{told(path)} is too {checked.word} for its thread: {checked.how}",
                "; ".join(f"perhaps {slip}" for slip in checked.slips[:2]),
            )


def _oiled(torque: Torque) -> bool | None:
    return {"yes": True, "no": False}.get(torque.lubricated)


def _units_beside(guard: Guard) -> None:
    """Figures of one fit, one torque or one row in two units: one of them was copied with the wrong one."""
    groups: dict[Path_, dict[Path_, str]] = {}
    for path, item in guard.numbers.items():
        if item.typed is not None and len(path) > 1:
            where = path[:1] if path[0] == "torques" else path[:1] if path[0] in ("crankpins", "mains") else path[:-1]
            groups.setdefault(where, {})[path] = item.typed.unit
    for where, units in groups.items():
        counted = sorted((list(units.values()).count(unit), unit) for unit in set(units.values()))
        if len(counted) < 2:
            continue
        common = counted[-1][1]
        for path, unit in units.items():
            if unit != common:
                guard.question(
                    path,
                    f"{told(path)} {guard.numbers[path].text} is in {unit}{OTHER_UNIT}{told(where)} in {common}",
                    f"perhaps {common} was meant",
                )


def _skirt(guard: Guard) -> None:
    """Bore less skirt is the skirt clearance."""
    skirt, low, high = (guard.numbers.get(path) for path in (("piston_skirt",), ("bore", "low"), ("bore", "high")))
    least, most = (guard.numbers.get(("piston_clearance", end)) for end in ("low", "high"))
    if skirt is None or low is None or least is None or most is None:
        return
    gap, room = low.value - skirt.value, (high or low).value - low.value
    if not 0.5 * least.value - room <= gap <= 1.5 * most.value + room:
        guard.question(
            ("piston_skirt",),
            f"piston_skirt {skirt.text} leaves {gap:.4f} in in the bore {low.text}, and "
            f"piston_clearance says {least.text} to {most.text}",
        )


def _counts(guard: Guard) -> None:
    """No more journals than the cylinders call for, as many plugs as cylinders, rod bolts for every rod."""
    cylinders = guard.engine.build.cylinders
    for name in ("plug", "glow_plug", "injector", "rod", "head"):
        path, number = ("torques", name, "count"), guard.numbers.get(("torques", name, "count"))
        if number is not None and (number.value % cylinders if name not in ("head", "injector") else 0):
            guard.question(path, f"{told(path)} is {number.text} on {cylinders} cylinders: as many for each are usual")
        elif number is not None and not cylinders <= number.value <= 8 * cylinders:
            guard.question(path, f"{told(path)} is {number.text} on {cylinders} cylinders: 1 to 8 for each are usual")
    for where, most in ((("mains", "count"), cylinders + 1), (("crankpins", "count"), cylinders)):
        number = guard.numbers.get(where)
        if number is not None and number.value > most:
            guard.question(where, f"{told(where)} is {number.text} on {cylinders} cylinders: at most {most}")
