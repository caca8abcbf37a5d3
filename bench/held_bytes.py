"""A held engine sheet and the same sheet typed anew through the form of a sheet give the same bytes, over all cases.

Each sheet that comes with the program is typed into a new one group by group, as `howdeep engine new` and the page do;
each worked case on it is then answered with both, with ranked checks, and answer (the documented JSON) and assembly
sheet are compared.

Usage: python bench/held_bytes.py [EVERY]   (every so many cases; default all)
"""

from __future__ import annotations

import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from howdeep.assessment.session import open_shop
from howdeep.cases.run import case_files
from howdeep.knowledge.engines import find, load_sheet, sheet_ids
from howdeep.knowledge.where import shipped_cases, shipped_rules
from tests.retyped import answers, difference, figures_lost, held_of, retyped


def main() -> int:
    """Print every case that differs, and how many of how many are the same; 1 where any differs."""
    shop, folders = open_shop(example_prices=True), [shipped_rules()]
    ids = sheet_ids(folders)
    with tempfile.TemporaryDirectory() as folder:
        typed = {name: retyped(name, Path(folder), folders) for name in ids}
        sheets = {name: (load_sheet(find(name, folders)), load_sheet(typed[name])) for name in ids}
        lost_of = {name: figures_lost(name, typed[name], folders) for name in ids}
    for name, lost in lost_of.items():
        print(f"{name}: " + (f"differs in {', '.join(lost)}" if lost else "every figure and word came back"))
    same, every, without = Counter(), Counter(), 0
    for case in case_files(shipped_cases())[:: int(sys.argv[1]) if len(sys.argv) > 1 else 1]:
        name = held_of(case)
        if name not in sheets:
            without += 1
            continue
        told = difference(*(answers(shop, case, sheet) for sheet in sheets[name]))
        every[name] += 1
        same[name] += not told
        if told:
            print(f"{case.stem}: {told}", flush=True)
    for name in ids:
        print(f"{name}: {same[name]} of {every[name]}")
    print(f"{same.total()} of {every.total()} cases give the same bytes; {without} more have an engine without a sheet")
    return int(same != every)


if __name__ == "__main__":
    sys.exit(main())
