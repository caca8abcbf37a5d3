"""Two newcomers: one with an engine nobody knows, one with a manual on the bench whose page is typed as printed.

    python bench/newcomers.py

`howdeep engine new` runs in a pseudo-terminal of 80 by 24 and is answered with what two invented pages print, one in
inches and one in millimetres, in the dress that manuals give it: fractions, thousandths, decimal commas, ranges in any
order, metric and inch mixed, units spelled many ways. Everything that the program takes otherwise than at once counts
as refused: what it cannot read, what it questions, what must be typed again. The unknown engine is
`newcomer_unknown.py`: prompts to a first answer.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import pexpect
from in_a_window import PROGRAM, in_a_window

PAGE: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    # (group, (what the prompt asks, what the page prints)); the engine is invented, its figures are in the usual run
    (
        "",
        (
            ("burn", "gasoline"),
            ("cylinders", "four"),
            ("valves stand", "OHV"),
            ("What is it in", "tractor"),
            ("Bore", "3 7/16"),
            ("Stroke", "4-1/4"),
            ("pistons run in", "wet liners"),
            ("lined with", "shells"),
            ("cooled", "water pump"),
            ("spark", "coil"),
        ),
    ),
    (
        "Compression",
        (("ratio", "6.5 to 1"), ("Cranking compression", "130-115 lbs per sq. in. at 185 r.p.m., minimum 95")),
    ),
    (
        "Bores and pistons",
        (
            ("Piston skirt in its bore", ".0025-.0040, renew at .009"),
            ("Diameter of a standard piston", "3.4340"),
            ("Oversizes", ".020, .040 and .060"),
            ("taper of a bore", "5 thou"),
            ("out-of-round of a bore", ".003 max."),
            ("Ring gap", ".013 to .019 (wear limit .040)"),
            ("groove", "0.0015 - 0.0030 in., limit .006"),
            ("Rings on each", "4"),
            ("Stand-out", "2 to 5 thousandths"),
            ("Piston pin", ".0002-.0004"),
        ),
    ),
    (
        "Bearings",
        (
            ("Crankpin, standard", "1.938-1.937"),
            ("Big end oil clearance", ".001 min., .0025 max., replace at .0045"),
            ("Undersizes sold for the big ends", "0.25, 0.50 and 0.75 mm"),
            ("out-of-round of a crankpin", ".001"),
            ("taper of a crankpin", "1 thou"),
            ("Smallest diameter to which a crankpin", "1.897"),
            ("Width of a big", "1 1/2"),
            ("How many crankpins", "4"),
            ("Main journal, standard", "2.3740/2.3750"),
            ("Main bearing oil", ".001-.003, not to exceed .006"),
            ("Undersizes sold for the mains", "10, 20 and 30 thou"),
            ("out-of-round of a main", ".001"),
            ("taper of a main", ".001"),
            ("Smallest diameter to which a main", "2.334"),
            ("Width of a main", '2"'),
            ("How many main", "3"),
            ("End play", "0,10-0,20 mm, limit 0,35 mm"),
        ),
    ),
    (
        "Valves and head",
        (
            ("clearance, inlet", ".013 cold"),
            ("clearance, exhaust", "15 thou"),
            ("Inlet stem", ".0015-.003, limit .006"),
            ("Exhaust stem", ".002-.0035, limit .007"),
            ("margin", "1/32"),
            ("Width of the valve seats", "1/16 to 3/32"),
            ("Width of the exhaust", ""),
            ("Load of a valve spring", "42-36 lb at 2 1/8 in"),
            ("Lift of a cam", ".290-.296, minimum .276"),
            ("exhaust lobes", ""),
            ("bow of the head", ".004"),
            ("hollow", "0,1 mm"),
        ),
    ),
    (
        "Oil and coolant",
        (
            ("hot at idle", "7-15 lbs"),
            ("hot at working", "30 - 20 psi, minimum 15"),
            ("Oil: grade", "SAE 30, 6 quarts"),
            ("Coolant: what", "half and half, 3 gallons"),
            ("cap", "7 lb"),
        ),
    ),
    (
        "Settings",
        (
            ("Firing", "1342"),
            ("Timing", "8 degrees before top dead centre at idle"),
            ("points", "0,45-0,55 mm"),
            ("plugs", ".025"),
        ),
    ),
    (
        "Torques",
        (
            ("Cylinder head", "25, 45, 65-70 ft. lbs. (88-95 Nm)"),
            ("Main bearing caps", "85 to 90 lb ft"),
            ("Big end", "35/40 foot-pounds"),
            ("Flywheel", "10 m.kg"),
            ("Manifolds", "25-30"),
            ("Spark plugs", "25"),
            ("Oil pan", "144 in-lb"),
            ("Valve cover", ""),
            ("pulley", "130"),
        ),
    ),
)
METRIC: tuple[tuple[str, tuple[tuple[str, str], ...]], ...] = (
    # the same of an invented boat diesel, as a continental manual prints it
    (
        "",
        (
            ("burn", "diesel oil"),
            ("cylinders", "3"),
            ("valves stand", "overhead valves"),
            ("What is it in", "boat"),
            ("Bore", "85 + 0,02 mm"),
            ("Stroke", "100"),
            ("pistons run in", "dry liners"),
            ("lined with", "thin-wall shells"),
            ("cooled", "sea water"),
            ("start cold", "heater plugs"),
        ),
    ),
    ("Compression", (("ratio", "1 : 19,5"), ("Cranking compression", "26-29 kg/cm² at 220 rev/min, limit 22"))),
    (
        "Bores and pistons",
        (
            ("Piston skirt in its bore", "0,08...0,12; wear limit 0,25"),
            ("Diameter of a standard piston", "84,91"),
            ("Oversizes", "0,5 and 1,0 mm"),
            ("taper of a bore", "max. 0,10"),
            ("out-of-round of a bore", "0,08 mm"),
            ("Ring gap", "0,35 - 0,50 (1,2 max.)"),
            ("groove", "0,05-0,09, limit 0,18"),
            ("Rings on each", "4 rings"),
            ("Piston pin", "0,010 to 0,022 (0.0004-0.0009 in)"),
        ),
    ),
    (
        "Bearings",
        (
            ("Crankpin, standard", "53,97-53,99 dia."),
            ("Big end oil clearance", "0,035-0,075; replace above 0,12"),
            ("Undersizes sold for the big ends", "0,25 / 0,50 / 0,75"),
            ("out-of-round of a crankpin", "0,02"),
            ("taper of a crankpin", "0,02"),
            ("Smallest diameter to which a crankpin", "53,20"),
            ("Width of a big", "30 mm"),
            ("How many crankpins", "three"),
            ("Main journal, standard", "65,98 to 66,00"),
            ("Main bearing oil", "min 0,045 max 0,090 limit 0,140"),
            ("Undersizes sold for the mains", "0,25 to 0,75 in steps of 0,25"),
            ("out-of-round of a main", "0,025"),
            ("taper of a main", "0,025"),
            ("Smallest diameter to which a main", "65,20"),
            ("Width of a main", "32"),
            ("How many main", "4"),
            ("End play", "0,1-0,25 (limit 0,4)"),
        ),
    ),
    (
        "Valves and head",
        (
            ("clearance, inlet", "0,30 mm hot"),
            ("clearance, exhaust", "0,35 hot"),
            ("Inlet stem", "0,03-0,07, limit 0,13"),
            ("Exhaust stem", "0,05-0,09, limit 0,15"),
            ("margin", "1 mm"),
            ("Width of the valve seats", "1,5-2 mm (2,5)"),
            ("Width of the exhaust", "1,8-2,3"),
            ("Load of a valve spring", "22-24 kg at 38 mm"),
            ("Lift of a cam", "7,0-7,2, min. 6,7"),
            ("exhaust lobes", ""),
            ("bow of the head", "0,08"),
            ("hollow", "0,08"),
        ),
    ),
    (
        "Oil and coolant",
        (
            ("hot at idle", "1-2 bar"),
            ("hot at working", "2,8 to 4,2 kg/cm2"),
            ("Oil: grade", "SAE 30, 6,5 litres"),
            ("Coolant: what", "sea water; winter drain"),
        ),
    ),
    ("Settings", (("Firing", "1-3-2"), ("Timing", "injection 18 degrees before top dead centre"))),
    (
        "Torques",
        (
            ("Cylinder head", "4 / 7,5 / 11 mkg"),
            ("Main bearing caps", "12-13 kpm"),
            ("Big end", "6,2 m.kg, oiled"),
            ("Flywheel", "85 Nm"),
            ("Manifolds", "2,4 kgm"),
            ("Injectors", "20 N·m"),
            ("Glow plugs", "2-2,5 mkp"),
            ("Oil pan", "20 Nm"),
            ("Valve cover", "0,8 mkg"),
            ("pulley", "160 Nm"),
        ),
    ),
)
PAGES = {
    "inch": (PAGE, {"lengths": "in", "pressures": "psi", "torques": "ft-lb", "loads": "lb"}),
    "metric": (METRIC, {"lengths": "mm", "pressures": "kg/cm2", "torques": "kgf-m", "loads": "kgf"}),
}
"""Name -> page, and the units said for bare figures."""
GROUPS = {
    "Bores and pistons": "4",
    "Compression": "3",
    "Bearings": "5",
    "Valves and head": "6",
    "Oil and coolant": "7",
    "Settings": "8",
    "Torques": "9",
}


@dataclass
class Count:
    """What a session came to."""

    figures: int = 0
    """Entries of the page typed."""
    prompts: int = 0
    """Prompts answered, units and groups included."""
    refused: list[str] = field(default_factory=list)
    """Entries that were not taken at once, with what was said."""


def replay(folder: Path, page: str = "inch") -> tuple[Count, str, str]:
    """Type a whole page; the count, what `engine check` says of the sheet, and the card."""
    count, (groups, units) = Count(), PAGES[page]
    child = in_a_window("engine", "new", "Ferrier 3", cwd=folder)
    prompt = re.compile(r"(Unit of the (\w+) in this group[^\n]*: |Which \([^\n]*: |Group \([^\n]*: |\n> )\Z")
    typed = ""

    def said() -> str:
        """The next prompt that is no doubt about the last entry; units are given, doubts are counted."""
        while True:
            child.expect(prompt)
            count.prompts += 1
            at = child.match.group(1)
            if at.startswith("Unit"):
                child.sendline(units[child.match.group(2)])
            elif at.startswith("Which"):
                count.refused.append(f"{typed}: {' '.join(child.before.split())[-300:]}")
                child.sendline("")
            elif at == "\n> " and " of " not in child.before and typed:
                count.refused.append(f"{typed}: {' '.join(child.before.split())[-300:]}")
                child.sendline("-")  # left blank, and on
            else:
                return at

    def to_groups() -> None:
        while not said().startswith("Group"):
            child.sendline("g")

    for group, entries in groups:
        if group:
            to_groups()
            child.sendline(GROUPS[group])
        for wanted, text in entries:
            said()
            asked = " ".join(child.before.split())
            if wanted not in asked:
                raise AssertionError(f"'{wanted}' was to be asked for '{text}', and the screen says: {asked[-300:]}")
            count.figures += bool(text)
            typed = text
            child.sendline(text)
    to_groups()
    child.sendline("q")
    child.expect(pexpect.EOF)
    done = [
        subprocess.run([*PROGRAM, "engine", *words], cwd=folder, capture_output=True, text=True, check=False)
        for words in (["check", "engines/ferrier-3.yaml"], ["show", "ferrier-3"])
    ]
    return count, done[0].stdout + done[0].stderr, done[1].stdout


def main() -> None:
    from newcomer_unknown import unknown_engine

    with tempfile.TemporaryDirectory() as folder:
        wrong = bool(unknown_engine(Path(folder)))
    for page in PAGES:
        with tempfile.TemporaryDirectory() as folder:
            count, checked, card = replay(Path(folder), page)
        print(card)
        print(checked)
        print(
            f"The {page} page: {count.figures} entries typed as printed over {count.prompts} prompts, "
            f"{len(count.refused)} refused or questioned.\n"
        )
        for text in count.refused:
            print(f"  {text}")
        wrong = wrong or bool(count.refused) or "sound" not in checked
    raise SystemExit(wrong)


if __name__ == "__main__":
    main()
