"""Readings taken before anything is opened, reduced to facts that rules can compare."""

from __future__ import annotations

from dataclasses import replace

from . import atmosphere, compression, gauges, leakage, vacuum
from .figures import SHEET, Figure, band, figure, first, shown
from .services import reduce_services
from .taken import Collect, Found, Taken
from .telling import listed

FIRM_RATIO = 5.5
"""Below this compression ratio the ratio says too little for a reading to be called low by it (judgement)."""


def reduce_tests(taken: Taken) -> Found:
    """Every reduced fact of the tests that are made before anything is opened."""
    out = Collect(taken)
    for part in (_compression, _leakage, _vacuum, reduce_services):
        part(taken, out)
    return out.done()


def known_of(taken: Taken, unit: str, *names: str) -> dict[str, Figure] | None:
    """General limits in `unit`, in order of the names; None where one of them is not known."""
    found = {name: taken.limits.get(name, unit) for name in names}
    known = {name: item for name, item in found.items() if item is not None}
    return known if len(known) == len(found) else None


def expected_compression(taken: Taken) -> compression.Expected | None:
    """What this engine should show here: the sheet's figure, that of its kind, else from its ratio; None where nobody
    says.

    The ratio alone is not firm on an engine of very low ratio, splash-oiled, or without a starter motor: such engines
    are healthy at figures that alarm elsewhere."""
    sheet, build = band(taken.engine.cranking_compression, "psi"), taken.engine.build
    given = first(sheet.low, sheet.high)
    if given is not None and given.basis != SHEET:
        ends = [item.value for item in (sheet.low, sheet.high) if item]
        return compression.expected_of_kind(min(ends), max(ends), taken.altitude_ft, given.basis)
    if given is not None:
        return compression.expected_from_sheet(
            sheet.low.value if sheet.low else None,
            sheet.high.value if sheet.high else None,
            sheet.wear.value if sheet.wear else None,
            taken.altitude_ft,
        )
    ratio = taken.engine.compression_ratio
    if ratio is None:
        return None
    firm = ratio >= FIRM_RATIO and build.oiling != "splash" and build.electric_start == "yes"
    return compression.expected_from_ratio(ratio, taken.altitude_ft, firm=firm)


def _compression(taken: Taken, out: Collect) -> None:
    expected = expected_compression(taken)
    dry, wet = taken.numbers("compression_dry", "psi"), taken.numbers("compression_wet", "psi")
    if dry is None:
        return
    if expected is not None:
        out.fact("compression.expected_low", expected.low, expected.how, expected.basis)
        out.fact("compression.expected_high", expected.high, expected.how, expected.basis)
        if expected.basis not in (SHEET, "arithmetic"):
            out.remark(
                "compression_dry",
                "conditions not recorded",
                f"What this engine should show is not known; {expected.how}.",
            )
        elif expected.basis != SHEET:
            out.remark(
                "compression_dry",
                "conditions not recorded",
                f"The engine sheet gives no cranking compression; "
                f"{expected.how}."
                + (
                    ""
                    if expected.firm
                    else " That is too rough to call this engine low: its cylinders are only compared with each other."
                ),
            )
        elif not taken.altitude_known:
            out.remark("compression_dry", "conditions not recorded", "No altitude is recorded: sea level is taken.")
        if expected.firm:
            percents = compression.percent_of_expected(dry, expected)
            out.fact(
                "compression.percent_of_expected",
                percents,
                f"{expected.how}; readings {listed(dry, 'psi')} are "
                f"{listed(percents, 'percent')} of the nearer end of that",
                expected.basis,
            )
    compared = compression.compare(dry)
    if compared is not None:
        told = f"lowest {shown(compared.lowest, 'psi')}, highest {shown(compared.highest, 'psi')}"
        out.fact(
            "compression.spread_percent",
            compared.spread_percent,
            f"{told}: {compared.spread_percent:.0f} % of the highest apart",
            "compared between cylinders",
        )
        out.fact(
            "compression.spread",
            compared.spread,
            f"{told}: {shown(compared.spread, 'psi')} apart",
            "compared between cylinders",
        )
        _spread(taken, out, compared, told)
        out.fact(
            "compression.lowest_to_highest",
            compared.lowest_to_highest,
            f"{told}: the lowest is {compared.lowest_to_highest:.0f} % of the highest",
            "compared between cylinders",
        )
        out.fact(
            "compression.below_average",
            compared.below_average,
            f"average {shown(compared.mean, 'psi')}; below it by {listed(compared.below_average, 'percent')}",
            "compared between cylinders",
        )
    low = known_of(
        taken,
        "percent",
        "compression_low_percent",
        "compression_very_low_percent",
        "compression_high_percent",
        "compression_lowest_to_highest",
    )
    above = figure(taken.engine.compression_above, "psi")
    if low is not None:
        words = compression.levels(
            dry,
            expected,
            low_percent=low["compression_low_percent"].value,
            very_low_percent=low["compression_very_low_percent"].value,
            high_percent=low["compression_high_percent"].value,
            neighbour_percent=low["compression_lowest_to_highest"].value,
            most_above=above.value if above else None,
            error=gauges.error("compression_gauge"),
        )
        sheet = expected is not None and expected.basis == SHEET
        basis = SHEET if sheet else _level_basis(words, expected)
        told = expected.how if expected is not None else "the engine sheet gives no compression figure and no ratio"
        out.fact(
            "compression.level",
            words,
            f"{told}; low below {low['compression_low_percent']}, very low below "
            f"{low['compression_very_low_percent']}, high "
            + (f"more than {above} over that" if sheet and above else f"above {low['compression_high_percent']}")
            + f"; within {gauges.error('compression_gauge'):g} psi above a mark it is doubtful"
            + ("" if sheet else f"; beside the highest cylinder, low below {low['compression_lowest_to_highest']}"),
            basis,
        )
    if wet is not None:
        rises, percents = compression.wet_rise(dry, wet), compression.wet_rise_percent(dry, wet)
        told = f"wet less dry: {listed(rises, 'psi')}"
        out.fact("compression.wet_rise", rises, told, "arithmetic")
        out.fact(
            "compression.wet_rise_percent", percents, f"{told}; of dry {listed(percents, 'percent')}", "arithmetic"
        )
        _wet_answer(taken, out, rises, percents, told)


def _level_basis(words: tuple[str | None, ...], expected: compression.Expected | None) -> str:
    """What judged the cylinders where the sheet is silent: each other, and what its kind shows where that is known."""
    if expected is None or expected.basis == "arithmetic" or all(word is None for word in words):
        return "compared between cylinders"
    return expected.basis


def _spread(taken: Taken, out: Collect, compared: compression.Compared, told: str) -> None:
    """The spread against the maker's own limits, where the sheet gives any."""
    pounds = figure(taken.engine.compression_spread, "psi")
    share = figure(taken.engine.compression_spread_percent, "percent")
    if pounds is not None:  # a sheet's pounds are those of its own figure, at sea level
        pounds = replace(pounds, value=pounds.value * atmosphere.pressure_ratio(taken.altitude_ft))
    word = compression.spread_verdict(
        compared, pounds.value if pounds else None, share.value if share else None, gauges.error("compression_repeat")
    )
    if word is None:
        return
    limits = " and ".join(str(item) for item in (pounds, share) if item is not None)
    out.fact(
        "compression.spread_verdict",
        word,
        f"{told}: {shown(compared.spread, 'psi')} and {compared.spread_percent:.0f} % apart; the engine sheet "
        f"allows {limits}",
        SHEET,
    )
    if word == "too_close":
        out.remark(
            "compression_dry",
            "too close to call",
            f"The spread lies within what a gauge repeats to of what the sheet allows ({limits}): read the highest "
            "and the lowest "
            "cylinder again.",
            "compression_dry",
        )


def _wet_answer(
    taken: Taken, out: Collect, rises: tuple[float | None, ...], percents: tuple[float | None, ...], told: str
) -> None:
    """What oil did: to the cylinders that were low where any was, and to the others.

    Oil seals rings: a reading that it lifts by the mark or more speaks for them at any height. That it lifts little
    speaks of a valve or a gasket on a low cylinder, is as it should be on one that is not, and says nothing where the
    height of a reading is not known. The maker's own mark, in pounds or in percent, goes before the general one.
    """
    pounds = figure(taken.engine.wet_rise, "psi")
    mark = figure(taken.engine.wet_rise_percent, "percent")
    if pounds is None and mark is None:
        mark = taken.limits.get("wet_rise_percent", "percent")
    words = next((item.value for item in out.reductions if item.fact == "compression.level"), None)
    if not isinstance(words, tuple) or mark is None and pounds is None:
        return
    named = " or ".join(str(item) for item in (pounds, mark) if item is not None)
    both = [
        (word, mark is not None and percent >= mark.value or pounds is not None and rise >= pounds.value)
        for word, rise, percent in zip(words, rises, percents, strict=True)
        if rise is not None and percent is not None
    ]
    rose = [up for word, up in both if word in compression.LOW]
    others = sum(up for word, up in both if word not in compression.LOW)
    if not rose and any(up for _, up in both) or not rose and both and all(word is not None for word, _ in both):
        rising = sum(up for _, up in both)
        out.fact(
            "compression.wet_answer",
            "up" if rising else "little",
            f"{told}; none is low, and {rising} of {len(both)} rose by {named} or more",
            "arithmetic",
        )
    if rose:
        answer = "up" if all(rose) else "mixed" if any(rose) or others else "unmoved"
        out.fact(
            "compression.wet_answer",
            answer,
            f"{told}; of the low ones {sum(rose)} of {len(rose)} rose by {named} or more"
            + (f", of the others {others}" if others else ""),
            "arithmetic",
        )


def _leakage(taken: Taken, out: Collect) -> None:
    values = taken.numbers("leakage", "percent")
    if values is None:
        return
    out.fact("leakage.percent", values, f"loss of the supply: {listed(values, 'percent')}", "arithmetic")
    marks = known_of(taken, "percent", "leakage_good_percent", "leakage_fair_percent", "leakage_bad_percent")
    if marks is None:
        return
    good, fair, bad = (mark.value for mark in marks.values())
    words = tuple(None if value is None else leakage.grade(value, good=good, fair=fair, poor=bad) for value in values)
    suspect = taken.limits.get("leakage_suspect_percent", "percent")
    out.fact(
        "leakage.grade",
        words,
        f"good to {good:g} %, fair to {fair:g} %, poor to {bad:g} %, then bad"
        + (f"; above {suspect.value:g} % (60 of 80 psi) a cylinder is suspect" if suspect else ""),
        marks["leakage_good_percent"].basis,
    )


def _vacuum(taken: Taken, out: Collect) -> None:
    reading = taken.number("vacuum_level", "inHg")
    if reading is None:
        return
    corrected = vacuum.to_sea_level(reading, taken.altitude_ft)
    how = f"{shown(reading, 'inHg')} read at {taken.altitude_ft:g} ft is {shown(corrected, 'inHg')} at sea level"
    out.fact("vacuum.corrected", corrected, how, "arithmetic")
    if not taken.altitude_known:
        out.remark("vacuum_level", "conditions not recorded", "No altitude is recorded: sea level is taken.")
    marks = known_of(taken, "inHg", "vacuum_normal", "vacuum_band", "vacuum_very_low")
    if marks is not None:
        normal, width, very_low = (mark.value for mark in marks.values())
        out.fact(
            "vacuum.level",
            vacuum.level(corrected, normal=normal, band=width, very_low=very_low),
            f"{how}; normal is {normal:g} in Hg give or take {width:g}, very low below {very_low:g}",
            marks["vacuum_normal"].basis,
        )
