"""Slips of the pen in price lists: how many are refused or questioned, and how many right lists are.

    python -m bench.price_slips [slips] [right lists] [seed]

A slip changes one figure or word of a right list: a place of the decimal point, a digit too many or too few at the end,
cents for the whole, a sign, a letter for a digit, a percentage as a share or a share as a percentage, hours in minutes,
another currency, a misspelt name, two sums exchanged. Right lists are made from the example: the labour rate, all parts
and all machine work each at a level of their own, every figure then varied by up to double or half, some left out,
some still examples. What no guard can see is no slip here: two digits exchanged, the price of the line beside.
"""

from __future__ import annotations

import copy
import functools
import random
import sys
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import yaml

from howdeep.files.strict_yaml import parse, read
from howdeep.knowledge.cache import load_cached
from howdeep.knowledge.where import shipped_rules
from howdeep.pricing.read import example_prices, look_over

TERMS = ("comeback_charge", "growth_charge", "reopening", "replacement", "teardown_inspection")
PERCENT = ("tax_percent", "supplies_percent", "deposit_percent")
HOURS = (
    "re_ring",
    "valve_job",
    "remove_refit_head",
    "remove_refit_engine",
    "renew_rod_bearings",
    "hone_bores",
    "overhaul_carburettor",
    "set_timing",
    "rebore",
    "remove_refit_pan",
)
DUMPER = getattr(yaml, "CSafeDumper", yaml.SafeDumper)
Plain = dict[str, Any]


@functools.cache
def knowledge():
    """The shipped rule base."""
    return load_cached((shipped_rules(),))


@functools.cache
def _example() -> Plain:
    return read(example_prices()).value


def found(plain: Plain) -> list[str]:
    """Everything that is refused or questioned in a list."""
    text = yaml.dump(plain, Dumper=DUMPER, sort_keys=False, allow_unicode=True)
    checked = look_over(parse(text, "prices.yaml"), knowledge(), None)
    return [str(item) for item in (*checked.faults, *checked.questions)]


def right_list(chance: random.Random) -> Plain:
    """A list as a shop may have it, nothing wrong in it."""
    plain = copy.deepcopy(_example())
    plain.pop("example")
    plain["name"], plain["date"] = "An invented shop", "2026-03-01"
    plain["currency"] = chance.choice(("USD", "USD", "USD", "EUR", "GBP"))
    level = 1.0 if plain["currency"] == "USD" else chance.uniform(0.6, 2.5)
    plain["labour_rate"] = _money(74 * level * chance.uniform(0.6, 1.8))
    levels = {table: level * chance.uniform(0.7, 1.5) for table in ("parts", "machine")}
    for table, of_table in levels.items():
        for name, text in list(plain[table].items()):
            if chance.random() < 0.12:
                del plain[table][name]
            elif chance.random() < 0.1:
                plain[table][name] = {"figure": text, "example": True}
            else:
                plain[table][name] = _money(float(text) * of_table * 2 ** chance.uniform(-1, 1))
    _in_order(plain["parts"], "piston_pin", "piston", 0.8)
    _in_order(plain["parts"], "inlet_valve", "exhaust_valve", 1.6)
    _in_order(plain["machine"], "polish_crank", "grind_main_journals", 0.8)
    _in_order(plain["machine"], "pour_rod", "pour_line_bore_mains", 0.7)
    for name in TERMS:
        plain[name] = _money(float(plain[name]) * level * 2 ** chance.uniform(-1, 1))
    for table in ("look_inside", "risk"):
        of_table = level * 2 ** chance.uniform(-1, 1)
        plain[table] = {name: _money(float(text) * of_table) for name, text in plain[table].items()}
    for name, parts in plain["engine_parts"].items():
        plain["engine_parts"][name] = {
            part: _money(float(text) * levels["parts"] * 2 ** chance.uniform(-1, 1)) for part, text in parts.items()
        }
    plain["tax_percent"] = chance.choice(("0", "5", "7", "8.25", "19", "20", "25"))
    plain["supplies_percent"] = chance.choice(("0", "3", "4", "5", "10"))
    plain["deposit_percent"] = chance.choice(("0", "20", "30", "50"))
    plain["hours"] = {
        name: round(knowledge().operations[name].hours * 2 ** chance.uniform(-1, 1), 2)
        for name in chance.sample(HOURS, 5)
    }
    return plain


def _money(amount: float) -> str:
    return f"{max(amount, 0.0):.2f}"


def _bare(value: Any) -> str:
    return value["figure"] if isinstance(value, dict) else value


def _in_order(table: dict[str, Any], less: str, more: str, most: float) -> None:
    if isinstance(table.get(less), str) and more in table:
        table[less] = _money(min(float(table[less]), most * float(_bare(table[more]))))


def _figures(plain: Plain) -> list[tuple[str, ...]]:
    """Paths of the shop's own money figures."""
    paths = [
        (table, name) for table in ("parts", "machine") for name, text in plain[table].items() if isinstance(text, str)
    ]
    paths += [("engine_parts", engine, part) for engine, parts in plain["engine_parts"].items() for part in parts]
    return paths + [(name,) for name in ("labour_rate", *TERMS)] * 3


def _changed(plain: Plain, path: tuple[str, ...], change: Callable[[str], Any]) -> Plain:
    made = copy.deepcopy(plain)
    here = made
    for part in path[:-1]:
        here = here[part]
    here[path[-1]] = change(here[path[-1]])
    return made


KINDS: tuple[tuple[str, Callable[[str], Any]], ...] = (
    ("ten times too large", lambda text: _money(float(text) * 10)),
    ("ten times too small", lambda text: _money(float(text) / 10)),
    ("cents for the whole", lambda text: _money(float(text) * 100)),
    ("a hundred times too small", lambda text: _money(float(text) / 100)),
    ("a digit too many", lambda text: text[:-3] + "0" + text[-3:]),
    ("a digit too few", lambda text: (text[:-4] or "0") + text[-3:]),
    ("a minus sign", lambda text: f"-{text}"),
    ("a letter for a digit", lambda text: text.replace("0", "O", 1) if "0" in text else text[:-1] + "l"),
    ("another currency", lambda text: f"CHF {text}"),
    ("a comma", lambda text: text.replace(".", ",")),
)


def slips(count: int, seed: int) -> Iterator[tuple[str, str, Plain]]:
    """(kind, figure, list with the slip in it)."""
    chance = random.Random(seed)
    for _ in range(count):
        plain = right_list(chance)
        draw = chance.random()
        if draw < 0.8:
            kind, change = chance.choice(KINDS)
            path = chance.choice(_figures(plain))
            yield kind, ".".join(path), _changed(plain, path, change)
        elif draw < 0.85:
            name = chance.choice([name for name in PERCENT if plain[name] != "0"] or ["look_credit_percent"])
            if name == "look_credit_percent":
                yield "percent as a share", name, _changed(plain, (name,), lambda _: "1")
            else:
                yield "percent as a share", name, _changed(plain, (name,), lambda text: f"{float(text) / 100:g}")
        elif draw < 0.9:
            name = chance.choice(sorted(plain["hours"]))
            yield "hours in minutes", name, _changed(plain, ("hours", name), lambda hours: round(hours * 60, 1))
        elif draw < 0.95:
            table = chance.choice(("parts", "machine"))
            name = chance.choice(sorted(plain[table]))
            made = copy.deepcopy(plain)
            place = chance.randrange(1, len(name))
            made[table][name[:place] + "x" + name[place:]] = made[table].pop(name)
            yield "a misspelt name", name, made
        else:
            made = copy.deepcopy(plain)
            what = chance.choice(("look_inside", "floor", "factor"))
            if what == "look_inside":
                looks = made["look_inside"]
                looks["top_end"], looks["refresh"] = looks["refresh"], looks["top_end"]
            elif what == "floor":
                made["promise_floor"] = chance.choice((70, 7, 0.07))
            else:
                made["growth_factor"] = chance.choice(("15", "0.15", "11.5"))
            yield "exchanged, or of another kind", what, made


def main() -> None:
    count, right, seed = (int(text) for text in (sys.argv[1:] + ["1000", "100", "1"][len(sys.argv) - 1 :]))
    seen: Counter[str] = Counter()
    put: Counter[str] = Counter()
    for kind, figure, plain in slips(count, seed):
        put[kind] += 1
        if found(plain):
            seen[kind] += 1
        else:
            print(f"unseen: {kind}: {figure}")
    for kind in sorted(put):
        print(f"{kind:32} {seen[kind]:4} of {put[kind]:4}")
    print(f"slips seen: {sum(seen.values())} of {sum(put.values())}")
    chance = random.Random(seed + 1)
    wrong = [told for _ in range(right) if (told := found(right_list(chance)))]
    for told in wrong[:5]:
        print(*told, sep="\n    ")
    print(f"right lists questioned: {len(wrong)} of {right}")


if __name__ == "__main__":
    main()
