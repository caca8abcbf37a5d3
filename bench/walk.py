"""The walk of one job from its file to its quote: which rooms are entered, in which order, and where it climbs back.

    python bench/walk.py [CASE] [--edges]

A *room* is a folder of the package, or a module beside them. A *stay* begins where a function of one room calls one of
another, and ends where it gives back or calls on. Two rooms that call each other on this walk are named: what went down
came up again. Few stays in few rooms is what is wanted.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from pathlib import Path
from types import FrameType

import howdeep
from howdeep.knowledge.where import shipped_cases

PACKAGE = Path(howdeep.__file__).parent
CASE = "smoke_and_low_compression_with_dry_seals_stays_in_the_frame"


class Walk:
    """What is called on the way, room by room."""

    def __init__(self) -> None:
        self.rooms: dict[str, str] = {}
        self.crossings: Counter[tuple[str, str]] = Counter()
        self.stays: list[str] = []

    def room(self, frame: FrameType) -> str:
        """Room of the function that runs in a frame; empty outside the package."""
        file = frame.f_code.co_filename
        if file not in self.rooms:
            path = Path(file)
            inside = PACKAGE in path.parents
            self.rooms[file] = path.relative_to(PACKAGE).parts[0].removesuffix(".py") if inside else ""
        return self.rooms[file]

    def __call__(self, frame: FrameType, event: str, _: object) -> None:
        if event != "call":
            return
        here = self.room(frame)
        if not here or here in ("model", "errors", "arrays"):  # values are in every room
            return
        caller = frame.f_back
        while caller is not None and not self.room(caller):
            caller = caller.f_back
        there = self.room(caller) if caller is not None else ""
        if there and there != here:
            self.crossings[there, here] += 1
            if not self.stays or self.stays[-1] != here:
                self.stays.append(here)

    def climbs(self) -> list[tuple[str, str]]:
        """Pairs of rooms that call each other."""
        return sorted((one, other) for one, other in self.crossings if one < other and (other, one) in self.crossings)


def walk(case: Path) -> Walk:
    """The walk of one job, the rule base read before and nothing remembered of the engine."""
    from howdeep import assess_job, open_shop, quote_job, read_job

    shop = open_shop(example_prices=True)
    taken = Walk()
    sys.setprofile(taken)
    try:
        answer = assess_job(read_job(case, shop), shop)
        quote_job(answer, shop)
    finally:
        sys.setprofile(None)
    return taken


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("case", nargs="?", type=Path, default=shipped_cases() / f"{CASE}.yaml")
    parser.add_argument("--edges", action="store_true", help="every pair of rooms, with the calls between them")
    given = parser.parse_args()
    taken = walk(given.case)
    entered = {room for edge in taken.crossings for room in edge}
    first = list(dict.fromkeys(taken.stays))
    print(
        f"rooms {len(entered)}, pairs of rooms {len(taken.crossings)}, stays {len(taken.stays)}, "
        f"pairs that call each other {len(taken.climbs())}"
    )
    print("in order of entry: " + " -> ".join(first))
    for one, other in taken.climbs():
        print(f"  both ways: {one} and {other}")
    if given.edges:
        for (one, other), count in sorted(taken.crossings.items()):
            print(f"  {one} -> {other}: {count}")


if __name__ == "__main__":
    main()
