"""Readings taken before anything is opened, reduced to facts that rules can compare."""

from __future__ import annotations

from dataclasses import replace

from . import atmosphere, compression, vacuum
from .figures import SHEET, band, figure, first, shown
from .given import Given
from .measured import Collect, Taken
from .verdict_text import listed

FIRM_RATIO = 5.5
"""Below this compression ratio the ratio says too little for a reading to be called low by it (judgement)."""


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


def reduce_compression(given: Given, out: Collect) -> None:
    """Each cylinder beside what the engine should show, beside the others, and wet beside dry."""
    expected = expected_compression(given.taken)
    dry, wet = given.numbers("dry", "psi"), given.numbers("wet", "psi")
    if dry is None:
        return
    if expected is not None:
        _beside_expected(given, out, expected, dry)
    _compared(given, out, dry)
    words = _levels(given, out, expected, dry)
    if wet is not None:
        rises, percents = compression.wet_rise(dry, wet), compression.wet_rise_percent(dry, wet)
        told = f"wet less dry: {listed(rises, 'psi')}"
        out.fact(given.fact("wet_rise"), rises, told, "arithmetic")
        out.fact(given.fact("wet_rise_share"), percents, f"{told}; of dry {listed(percents, 'percent')}", "arithmetic")
        if words is not None:
            _wet_answer(given, out, words, rises, percents, told)


def _beside_expected(given: Given, out: Collect, expected: compression.Expected, dry: compression.Values) -> None:
    """What this engine should show here, how sure that is, and each cylinder as a share of it."""
    out.fact(given.fact("expected_low"), expected.low, expected.how, expected.basis)
    out.fact(given.fact("expected_high"), expected.high, expected.how, expected.basis)
    said = ""
    if expected.basis not in (SHEET, "arithmetic"):
        said = f"What this engine should show is not known; {expected.how}."
    elif expected.basis != SHEET:
        said = f"The engine sheet gives no cranking compression; {expected.how}." + (
            ""
            if expected.firm
            else " That is too rough to call this engine low: its cylinders are only compared with each other."
        )
    elif not given.taken.altitude_known:
        said = "The altitude is not given: sea level is taken."
    if said:
        out.remark(given.reading("dry"), "conditions not recorded", said)
    if expected.firm:
        percents = compression.percent_of_expected(dry, expected)
        out.fact(
            given.fact("percent_of_expected"),
            percents,
            f"{expected.how}; readings {listed(dry, 'psi')} are {listed(percents, 'percent')} of the nearer end "
            "of that",
            expected.basis,
        )


def _compared(given: Given, out: Collect, dry: compression.Values) -> None:
    """The cylinders beside each other."""
    compared, basis = compression.compare(dry), "compared between cylinders"
    if compared is None:
        return
    told = f"lowest {shown(compared.lowest, 'psi')}, highest {shown(compared.highest, 'psi')}"
    out.fact(
        given.fact("spread_percent"),
        compared.spread_percent,
        f"{told}: {compared.spread_percent:.0f} % of the highest apart",
        basis,
    )
    out.fact(given.fact("spread"), compared.spread, f"{told}: {shown(compared.spread, 'psi')} apart", basis)
    _spread(given, out, compared, told)
    out.fact(
        given.fact("lowest_to_highest"),
        compared.lowest_to_highest,
        f"{told}: the lowest is {compared.lowest_to_highest:.0f} % of the highest",
        basis,
    )
    out.fact(
        given.fact("below_average"),
        compared.below_average,
        f"average {shown(compared.mean, 'psi')}; below it by {listed(compared.below_average, 'percent')}",
        basis,
    )


def _levels(
    given: Given, out: Collect, expected: compression.Expected | None, dry: compression.Values
) -> tuple[compression.Level | None, ...] | None:
    """Each cylinder in a word; None where the rules have no marks."""
    low, very_low, high, neighbour = (given.limit(name, "percent") for name in ("low", "very_low", "high", "neighbour"))
    above, error = figure(given.engine.compression_above, "psi"), given.error("gauge", "psi")
    if low is None or very_low is None or high is None or neighbour is None:
        return None
    words = compression.levels(
        dry,
        expected,
        low_percent=low.value,
        very_low_percent=very_low.value,
        high_percent=high.value,
        neighbour_percent=neighbour.value,
        most_above=above.value if above else None,
        error=error,
    )
    sheet = expected is not None and expected.basis == SHEET
    told = expected.how if expected is not None else "the engine sheet gives no compression figure and no ratio"
    out.fact(
        given.fact("level"),
        words,
        f"{told}; low below {low}, very low below {very_low}, high "
        + (f"more than {above} over that" if sheet and above else f"above {high}")
        + f"; within {error:g} psi above a mark it is doubtful"
        + ("" if sheet else f"; beside the highest cylinder, low below {neighbour}"),
        SHEET if sheet else _level_basis(words, expected),
    )
    return None if all(word is None for word in words) else words


def _level_basis(words: tuple[str | None, ...], expected: compression.Expected | None) -> str:
    """What judged the cylinders where the sheet is silent: each other, and what its kind shows where that is known."""
    if expected is None or expected.basis == "arithmetic" or all(word is None for word in words):
        return "compared between cylinders"
    return expected.basis


def _spread(given: Given, out: Collect, compared: compression.Compared, told: str) -> None:
    """The spread against the maker's own limits, where the sheet gives any."""
    pounds = figure(given.engine.compression_spread, "psi")
    share = figure(given.engine.compression_spread_percent, "percent")
    if pounds is not None:  # a sheet's pounds are those of its own figure, at sea level
        pounds = replace(pounds, value=pounds.value * atmosphere.pressure_ratio(given.taken.altitude_ft))
    word = compression.spread_verdict(
        compared, pounds.value if pounds else None, share.value if share else None, given.error("repeat", "psi")
    )
    if word is None:
        return
    limits = " and ".join(str(item) for item in (pounds, share) if item is not None)
    out.fact(
        given.fact("spread_verdict"),
        word,
        f"{told}: {shown(compared.spread, 'psi')} and {compared.spread_percent:.0f} % apart; the engine sheet "
        f"allows {limits}",
        SHEET,
    )
    if word == "too_close":
        out.remark(
            given.reading("dry"),
            "too close to call",
            f"The spread lies within what a gauge repeats to of what the sheet allows ({limits}): read the highest "
            "and the lowest "
            "cylinder again.",
            given.reading("dry"),
        )


def _wet_answer(
    given: Given,
    out: Collect,
    words: tuple[compression.Level | None, ...],
    rises: compression.Values,
    percents: compression.Values,
    told: str,
) -> None:
    """What oil did: to the cylinders that were low where any was, and to the others.

    Oil seals rings: a reading that it lifts by the mark or more speaks for them at any height. That it lifts little
    speaks of a valve or a gasket on a low cylinder, is as it should be on one that is not, and says nothing where the
    height of a reading is not known. The maker's own mark, in pounds or in percent, goes before the general one; a
    share counts only where the rise is more than a gauge may err by.
    """
    pounds = figure(given.engine.wet_rise, "psi")
    mark = figure(given.engine.wet_rise_percent, "percent")
    if pounds is None and mark is None:
        mark = given.limit("wet_rise", "percent")
    if mark is None and pounds is None:
        return
    least = given.limit("wet_rise_least", "psi")
    floor = 0.0 if least is None else least.value
    named = " or ".join(str(item) for item in (pounds, mark) if item is not None)
    both = [
        (
            word,
            (mark is not None and percent >= mark.value and rise >= floor)
            or (pounds is not None and rise >= pounds.value),
        )
        for word, rise, percent in zip(words, rises, percents, strict=True)
        if rise is not None and percent is not None
    ]
    rose = [up for word, up in both if word in compression.LOW]
    others = sum(up for word, up in both if word not in compression.LOW)
    if (not rose and any(up for _, up in both)) or (not rose and both and all(word is not None for word, _ in both)):
        rising = sum(up for _, up in both)
        out.fact(
            given.fact("wet_answer"),
            "up" if rising else "little",
            f"{told}; none is low, and {rising} of {len(both)} rose by {named} or more",
            "arithmetic",
        )
    if rose:
        answer = "up" if all(rose) else "mixed" if any(rose) or others else "unmoved"
        out.fact(
            given.fact("wet_answer"),
            answer,
            f"{told}; of the low ones {sum(rose)} of {len(rose)} rose by {named} or more"
            + (f", of the others {others}" if others else ""),
            "arithmetic",
        )


def reduce_leakage(given: Given, out: Collect) -> None:
    """Loss as a share of the supply."""
    values = given.numbers("loss", "percent")
    if values is not None:
        out.fact(given.fact("percent"), values, f"loss of the supply: {listed(values, 'percent')}", "arithmetic")


def reduce_vacuum(given: Given, out: Collect) -> None:
    """Idle vacuum brought to sea level, and that in a word."""
    reading, feet = given.number("level", "inHg"), given.taken.altitude_ft
    if reading is None:
        return
    corrected = vacuum.to_sea_level(reading, feet)
    how = f"{shown(reading, 'inHg')} read at {feet:g} ft is {shown(corrected, 'inHg')} at sea level"
    out.fact(given.fact("corrected"), corrected, how, "arithmetic")
    if not given.taken.altitude_known:
        out.remark(given.reading("level"), "conditions not recorded", "The altitude is not given: sea level is taken.")
    normal, width, very_low = (given.limit(name, "inHg") for name in ("normal", "band", "very_low"))
    if normal is not None and width is not None and very_low is not None:
        out.fact(
            given.fact("level"),
            vacuum.level(corrected, normal=normal.value, band=width.value, very_low=very_low.value),
            f"{how}; normal is {normal.value:g} in Hg give or take {width.value:g}, very low below {very_low.value:g}",
            normal.basis,
        )
