"""Slips of the pen in engine sheets: how many are refused or questioned, and how many right sheets are.

    python -m bench.sheet_slips [slips] [right sheets] [seed]

A slip changes one figure of a shipped sheet: ten times too large or too small, another unit of its dimension, a sign,
low and high exchanged, a wear limit inside the new fit, a stage left out. Right sheets are shipped ones with every fit,
size, torque and hour varied within what such engines have, and sheets made of published figures (PUBLISHED, each with
its source).
"""

from __future__ import annotations

import copy
import random
import sys
from collections import Counter
from collections.abc import Iterator
from typing import Any

import yaml

from howdeep.errors import HowdeepError
from howdeep.files.strict_yaml import parse, read
from howdeep.knowledge.engines import check_sheet, find, sheet_ids
from howdeep.knowledge.plausible import plausible_table
from howdeep.knowledge.where import shipped_rules

OTHER = {
    "in": ("mm", "thou"),
    "mm": ("in", "cm"),
    "psi": ("bar", "kPa", "kg/cm2"),
    "ft-lb": ("Nm", "in-lb"),
    "Nm": ("ft-lb", "in-lb"),
    "lbf": ("N",),
    "N": ("lbf",),
}
SILENT = (
    "name",
    "note",
    "build",
    "firing_order",
    "lash_state",
    "ignition_timing",
    "fluids",
    "source",
    "size",
    "grade",
    "lubricated",
    "sure",
)
WEAR_FITS = (
    "piston_clearance",
    "ring_gap",
    "ring_side",
    "end_play",
    "pin_clearance",
    "valve_stem_inlet",
    "clearance",
    "valve_stem_exhaust",
    "seat_width",
)
Slip = tuple[str, str, dict[str, Any]]
"""Kind, figure and the sheet with the slip in it."""

PUBLISHED: tuple[tuple[str, str, dict[str, Any]], ...] = (
    # (sheet it is put into, source, figures as printed)
    (
        "skerry-6",
        "tm-10-3930-653-14p",
        {
            "bore": {"low": "87.20 mm", "high": "87.25 mm", "wear": "0.2 mm"},
            "stroke": "92 mm",
            "piston_skirt": "87.18 mm",
            "piston_clearance": {"low": "0.025 mm", "high": "0.045 mm"},
            "oversizes": ["0.50 mm", "1.00 mm", "1.50 mm"],
            "ring_gap": {"low": "0.25 mm", "high": "0.40 mm", "wear": "1.0 mm"},
            "ring_side": {"low": "0.040 mm", "high": "0.073 mm", "wear": "0.1 mm"},
            "mains": {
                "size": {"low": "62.942 mm", "high": "62.955 mm"},
                "clearance": {"low": "0.020 mm", "high": "0.062 mm"},
                "out_of_round": "0.03 mm",
                "taper": "0.03 mm",
            },
            "end_play": {"low": "0.002 in", "high": "0.0071 in", "wear": "0.0079 in"},
            "head_flatness": "0.1 mm",
            "valve_stem_inlet": {"low": "0.028 mm", "high": "0.030 mm", "wear": "0.10 mm"},
            "valve_stem_exhaust": {"low": "0.058 mm", "high": "0.060 mm", "wear": "0.15 mm"},
            "crankpins": None,
            "bore_taper": None,
            "bore_out_of_round": None,
        },
    ),
    (
        "pell-1",
        "tm-5-6115-584-34",
        {
            "bore": {"low": "3.250 in", "high": "3.251 in"},
            "stroke": "3.625 in",
            "piston_skirt": None,
            "piston_clearance": {"low": "0.005 in", "high": "0.0062 in", "wear": "0.010 in"},
            "ring_side": {"low": "0.0035 in", "high": "0.0075 in", "wear": "0.010 in"},
        },
    ),
    (
        "dunmore-d4",
        "tm-9-2815-220-24",
        {
            "bore": {"low": "5.751 in", "high": "5.753 in", "wear": "0.007 in"},
            "stroke": "5.75 in",
            "piston_skirt": None,
            "oversizes": ["0.010 in", "0.020 in", "0.030 in", "0.040 in"],
            "bore_out_of_round": "0.003 in",
            "bore_taper": None,
            "piston_clearance": None,
            "ring_gap": {"low": "0.023 in", "high": "0.033 in"},
            "crankpins": None,
            "mains": None,
        },
    ),
    (
        "tarn-30",
        "tm-55-1905-220-14-4",
        {
            "mains": {
                "size": {"low": "2.3740 in", "high": "2.3750 in"},
                "clearance": {"low": "0.0016 in", "high": "0.0050 in", "wear": "0.0060 in"},
                "count": 3,
            }
        },
    ),
    (
        "tarn-30",
        "tm-5-3810-206-35",
        {
            "valve_stem_inlet": {"low": "0.003 in", "high": "0.005 in", "wear": "0.007 in"},
            "mains": {
                "size": {"low": "2.3740 in", "high": "2.3750 in"},
                "clearance": {"low": "0.0030 in", "high": "0.0059 in", "wear": "0.008 in"},
                "count": 3,
            },
        },
    ),
    (
        "skerry-6",
        "tm-9-2815-260-24",
        {
            "valve_stem_inlet": {"low": "0.002 in", "high": "0.004 in", "wear": "0.006 in"},
            "crankpins": {
                "size": {"low": "1.9370 in", "high": "1.9380 in"},
                "clearance": {"low": "0.0016 in", "high": "0.0043 in"},
            },
        },
    ),
    (
        "skerry-6",
        "tm-9-4310-397-14",
        {"valve_stem_exhaust": {"low": "0.002 in", "high": "0.004 in", "wear": "0.006 in"}},
    ),
    ("tarn-30", "tm-10-3930-618-20", {"cranking_compression": {"low": "120 psi", "high": "125 psi"}}),
    (
        "pell-1",
        "tm-5-2420-230-24-2",
        {"cranking_compression": {"low": "300 psi", "high": "350 psi"}, "cranking_rpm": "250 rpm"},
    ),
    ("skerry-6", "tm-5-3810-294-34", {"oil_pressure_speed": {"low": "15 psi", "high": "55 psi"}}),
    (
        "tarn-30",
        "tm-10-3930-623-12",
        {"oil_pressure_idle": {"low": "7 psi"}, "oil_pressure_speed": {"low": "20 psi", "high": "30 psi"}},
    ),
    (
        "tarn-30",
        "tm-10-3930-659-34",
        {"bore_taper": "0.002 in", "piston_clearance": {"low": "0.003 in", "high": "0.006 in"}},
    ),
    ("skerry-6", "tm-9-4940-549-14p", {"head_flatness": "0.003 in", "deck_flatness": "0.005 in"}),
    ("skerry-6", "tm-5-4240-501-14p", {"seat_width": {"low": "3/64 in", "high": "1/16 in"}}),
    (
        "skerry-6",
        "tm-5-3431-205-15",
        {
            "crankpins": {
                "size": {"low": "1.9370 in", "high": "1.9380 in"},
                "clearance": {"low": "0.0008 in", "high": "0.0025 in"},
                "undersizes": ["0.010 in", "0.020 in", "0.030 in", "0.040 in"],
                "smallest": "1.8970 in",
                "out_of_round": "0.001 in",
            }
        },
    ),
    (
        "dunmore-d4",
        "general engineering page: M10 8.8 at 50 N·m",
        {"torques": {"rod": {"value": "50 Nm", "size": "M10", "grade": "8.8"}}},
    ),
)


def plain_of(name: str) -> dict[str, Any]:
    """A shipped sheet as plain values."""
    return read(find(name, [shipped_rules()])).value


def outcome(plain: dict[str, Any], table) -> tuple[str, str]:
    """'refused', 'questioned' or 'passed', with the first thing said."""
    text = yaml.safe_dump(plain, allow_unicode=True, sort_keys=False, width=200)
    try:
        sheet = check_sheet(parse(text, "sheet.yaml"), table)
    except HowdeepError as error:
        return "refused", str(error.faults[0])
    return ("questioned", str(sheet.questions[0])) if sheet.questions else ("passed", "")


def leaves(value: Any, path: tuple = ()) -> Iterator[tuple[tuple, Any]]:
    """Every figure of a plain sheet with its path."""
    if isinstance(value, dict):
        for key, item in value.items():
            if key not in SILENT or path[:1] in (("crankpins",), ("mains",)):
                yield from leaves(item, (*path, key))
    elif isinstance(value, list):
        for index, item in enumerate(value):
            yield from leaves(item, (*path, index))
    else:
        yield path, value


def put(plain: dict[str, Any], path: tuple, value: Any) -> dict[str, Any]:
    changed = copy.deepcopy(plain)
    at = changed
    for part in path[:-1]:
        at = at[part]
    at[path[-1]] = value
    return changed


def split(raw: Any) -> tuple[float, str] | None:
    """Number and unit of a figure as typed; None for text without a number."""
    if isinstance(raw, bool) or raw is None:
        return None
    number, _, unit = str(raw).partition(" ")
    try:
        return float(number), unit
    except ValueError:
        return None


def typed(value: float, unit: str, like: Any) -> Any:
    text = f"{value:.6g}"
    if "e" in text:
        text = f"{value:.8f}".rstrip("0")
    if isinstance(like, int):
        return int(value) if value == int(value) else float(text)
    return float(text) if isinstance(like, float) else f"{text} {unit}".strip()


def slips_of(name: str, plain: dict[str, Any]) -> Iterator[Slip]:
    """Every single slip of a sheet."""
    for path, raw in leaves(plain):
        figure = split(raw)
        if figure is None:
            continue
        value, unit = figure
        at = f"{name}:{'.'.join(map(str, path))}"
        for factor in (10.0, 0.1):
            if isinstance(raw, int) and value * factor != int(value * factor):
                continue  # nobody writes a tenth of a bolt
            yield "ten-fold", at, put(plain, path, typed(value * factor, unit, raw))
        yield "sign", at, put(plain, path, typed(-value, unit, raw))
        for other in OTHER.get(unit, ()):
            yield "unit", at, put(plain, path, typed(value, other, raw))
    for path, fit in _mappings(plain):
        at = f"{name}:{'.'.join(map(str, path))}"
        if {"low", "high"} <= set(fit):
            yield "swapped", at, put(plain, path, {**fit, "low": fit["high"], "high": fit["low"]})
        if {"low", "high", "wear"} <= set(fit) and path[-1] in WEAR_FITS:
            (low, unit), (high, _) = split(fit["low"]), split(fit["high"])
            yield "limit inside", at, put(plain, path, {**fit, "wear": typed((low + high) / 2, unit, fit["wear"])})
        for index in range(len(fit.get("stages", ()))):
            fewer = [item for number, item in enumerate(fit["stages"]) if number != index]
            yield "missing stage", at, put(plain, path, {**fit, "stages": fewer})


def _mappings(value: Any, path: tuple = ()) -> Iterator[tuple[tuple, dict]]:
    if isinstance(value, dict):
        if path:
            yield path, value
        for key, item in value.items():
            if key not in ("build", "fluids", "source"):
                yield from _mappings(item, (*path, key))


def varied(plain: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """A right sheet: every group of figures moved together by what such engines differ in."""
    result, size = copy.deepcopy(plain), chance.uniform(0.8, 1.3)

    def scale(value: Any, factor: float) -> Any:
        if isinstance(value, dict):
            return {key: scale(item, factor) for key, item in value.items()}
        if isinstance(value, list):
            return [scale(item, factor) for item in value]
        figure = split(value)
        return value if figure is None else typed(figure[0] * factor, figure[1], value)

    sizes = ("bore", "stroke", "piston_skirt", "piston_clearance", "ring_gap", "bore_taper", "bore_out_of_round")
    for key, value in plain.items():
        if key in SILENT or key in ("rings_per_piston", "oversizes"):
            continue
        if key in sizes:
            result[key] = scale(value, size)
        elif key in ("crankpins", "mains"):
            result[key] = {
                part: item if part in ("count", "undersizes", "smallest") else scale(item, size)
                for part, item in value.items()
            }
            if "smallest" in value:
                under = split(value["undersizes"][-1])
                low = split(result[key]["size"]["low"])
                result[key]["smallest"] = typed(low[0] - under[0], low[1], "")
        elif key == "torques":
            for name, torque in value.items():
                factor = chance.uniform(0.85, 1.15)
                result[key][name] = {
                    part: scale(item, factor) if part in ("value", "stages") else item for part, item in torque.items()
                }
        elif key == "hours":
            result[key] = {name: scale(item, chance.uniform(0.65, 1.5)) for name, item in value.items()}
        elif key in ("compression_ratio", "cranking_compression"):
            result[key] = scale(value, chance.uniform(0.93, 1.07))
        else:
            result[key] = scale(value, chance.uniform(0.75, 1.35))
    return result


def published(entry: tuple[str, str, dict[str, Any]]) -> dict[str, Any]:
    """A sheet with published figures in place of its own; None takes a figure out."""
    name, _, figures = entry
    plain = {**plain_of(name), **figures}
    return {key: value for key, value in plain.items() if value is not None}


def right_sheets(count: int, chance: random.Random) -> list[tuple[str, dict[str, Any]]]:
    """The published ones, and variations of the shipped and of the published ones."""
    bases = [(name, plain_of(name)) for name in sheet_ids([shipped_rules()])]
    printed = [(f"{source} in {name}", published((name, source, figures))) for name, source, figures in PUBLISHED]
    sheets = [*bases, *printed]
    while len(sheets) < count:
        name, plain = chance.choice(bases)
        sheets.append((f"{name} varied", varied(plain, chance)))
    return sheets[:count]


def run(slips: int, right: int, seed: int) -> tuple[Counter, list[tuple[str, str]], list[tuple[str, str]]]:
    """Outcomes by (kind, outcome), the slips that passed, and the right sheets that did not."""
    table, chance = plausible_table(), random.Random(seed)
    every = [slip for name in sheet_ids([shipped_rules()]) for slip in slips_of(name, plain_of(name))]
    chosen = chance.sample(every, slips) if slips < len(every) else every
    counted: Counter = Counter()
    missed = []
    for kind, at, plain in chosen:
        said = outcome(plain, table)[0]
        counted[kind, said] += 1
        if said == "passed":
            missed.append((kind, at))
    wrong = [
        (name, said)
        for name, plain in right_sheets(right, chance)
        for word, said in (outcome(plain, table),)
        if word != "passed"
    ]
    return counted, missed, wrong


def main() -> None:
    slips, right, seed = (*map(int, sys.argv[1:]), *(2500, 500, 14)[len(sys.argv) - 1 :])
    counted, missed, wrong = run(slips, right, seed)
    total = sum(counted.values())
    for kind in sorted({kind for kind, _ in counted}):
        print(f"{kind:14}", ", ".join(f"{counted[kind, said]} {said}" for said in ("refused", "questioned", "passed")))
    print(f"{total} slips: {100 * (total - len(missed)) / total:.1f} % refused or questioned; not: {len(missed)}")
    for kind, at in missed:
        print(f"  {kind} {at}")
    print(f"{right} right sheets: {len(wrong)} questioned or refused")
    for name, said in wrong[:20]:
        print(f"  {name}: {said}")


if __name__ == "__main__":
    main()
