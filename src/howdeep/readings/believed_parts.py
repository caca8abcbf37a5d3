"""Measurements of the open engine that cannot be right, where it takes more than one figure to say so."""

from __future__ import annotations

from ..model.engine import Journal
from ..model.results import Remark
from .bores import Grid, cells
from .figures import band, bore_in, figure, shown
from .given import Given
from .open_crank import undersizes_of
from .open_cylinders import oversizes_of
from .plausibility import Questioned, question_each
from .slips import question


def believe_bores(given: Given) -> Questioned:
    """Smaller than standard, or larger than any bore of the engine can be worn."""
    taken, standard = given.taken, band(given.engine.bore, "in")
    if standard.low is None:
        return taken, []
    top = standard.high.value if standard.high else standard.low.value
    over = max(oversizes_of(given.engine), default=0.0)
    least, most = standard.low.value - 2 * given.error("bore"), top + over + given.most("over", "in")

    def judged(grid: Grid) -> str:
        for value in cells(grid):
            if value < least:
                return question(value, "in", f"is smaller than a standard bore ({standard.low})", least, most)
            if value > most:
                return question(
                    value,
                    "in",
                    f"is larger than any bore of this engine can be worn ({shown(most, 'in')})",
                    least,
                    most,
                )
        return ""

    return question_each(taken, given.reading("bore"), given.grids("bore", "in"), "cylinder", judged)


def believe_skirts(given: Given) -> Questioned:
    """Larger than the bore it runs in, or of no piston of the engine."""
    taken, name, nominal = given.taken, given.reading("skirt"), figure(given.engine.piston_skirt, "in")
    bores = given.grids("bore", "in") or ()
    numbered = {index + 1: max(cells(grid)) for index, grid in enumerate(bores) if grid is not None and cells(grid)}
    skirts = given.numbers("skirt", "in")
    if skirts is None:
        return taken, []
    bad: dict[int, str] = {}
    slack = given.error("bore") + given.error("skirt")
    over = max(oversizes_of(given.engine), default=0.0)
    size = nominal.value if nominal else bore_in(taken.engine)
    under, above = given.most("under", "in"), given.most("over", "in")
    for index, skirt in enumerate(skirts):
        if skirt is None:
            continue
        bore = numbered.get(index + 1)
        if bore is not None and skirt > bore + slack:
            bad[index + 1] = question(
                skirt,
                "in",
                f"is larger than its bore ({shown(bore, 'in')}), which leaves a clearance below nothing",
                bore - 0.03,
                bore,
            )
        elif size is not None and not size - under <= skirt <= size + over + above:
            bad[index + 1] = question(
                skirt, "in", f"is no piston of this engine ({shown(size, 'in')} standard)", size - under, size + over
            )
    remarks = [Remark(name, "questioned", f"cylinder {number}: {text}", name) for number, text in sorted(bad.items())]
    return (taken.without(name, frozenset(bad)) if bad else taken), remarks


NAMES = {"crankpin": "crankpin", "main": "main journal"}
"""What an observation has one value of -> what it is called."""


def believe_journals(given: Given) -> Questioned:
    """Larger than standard, or smaller than any grind; perhaps one of the other journals was measured."""
    name, journal = given.reading("size"), given.journal()
    size = band(journal.size, "in") if journal else None
    if journal is None or size is None or size.low is None:
        return given.taken, []
    kind = given.taken.rules.observations[name].each
    other = "main" if kind == "crankpin" else "crankpin"
    error, high = given.error("size"), size.high.value if size.high else size.low.value
    under = max(undersizes_of(journal), default=0.0)
    least, most = size.low.value - under - given.most("under", "in"), high + 2 * error
    places = _other_places(given.journal("other"), NAMES[other])

    def judged(grid: Grid) -> str:
        for value in cells(grid):
            if value > most:
                told = f"is larger than a standard {NAMES[kind]} ({shown(high, 'in')})"
                return question(value, "in", told, least, most, places)
            if value < least:
                told = f"is smaller than any {NAMES[kind]} of this engine is ground"
                return question(value, "in", told, least, most, places)
        return ""

    return question_each(given.taken, name, given.grids("size", "in"), NAMES[kind], judged)


def _other_places(journal: Journal | None, name: str) -> dict[str, tuple[float, float]]:
    """The other journals of the crankshaft with their least and most."""
    far = band(journal.size, "in") if journal else None
    if far is None or far.low is None:
        return {}
    return {f"a {name}": (far.low.value - 0.045, (far.high or far.low).value + 0.001)}


def believe_lift(given: Given) -> Questioned:
    """A lift above that of a new lobe was read at the valve, behind the rocker, or the sheet is another engine's."""
    sheet = given.band("lift", "in")
    new = sheet.high or sheet.low
    if new is None:
        return given.taken, []
    most, rocker = (given.most(name, "percent") * new.value for name in ("most", "rocker"))

    def judged(value: float) -> str:
        if value <= most:
            return ""
        if value <= rocker:
            return (
                f"{shown(value, 'in')} is more than a new lobe lifts ({new}): perhaps it was read at the valve, "
                "behind the rocker. Measure again at the follower or its push rod."
            )
        return question(value, "in", f"is more than a new lobe lifts ({new})", 0.5 * new.value, most)

    return question_each(given.taken, given.reading("lift"), given.numbers("lift", "in"), "valve", judged)
