"""Observations and computations hold together: gauges, beliefs, and what a function is given."""

from __future__ import annotations

from ..errors import nearest
from ..model.engine import Fit, Journal
from ..model.judged import Computed
from ..model.knowledge import Knowledge
from ..model.quantity import DIMENSION
from .held_to import Report, field_at, field_kind, known_entry, limit_at, per_inch_of, same_kind, spelt, template_at
from .signatures import PARTS, SIGNATURES, Signature


def check_observations(knowledge: Knowledge, sheet: dict[str, type], report: Report) -> None:
    figures = {f"{field}.{end}" for field, kind in sheet.items() if kind is Fit for end in ("low", "high", "wear")}
    figures |= {field for field, kind in sheet.items() if kind is str}
    for name, item in knowledge.observations.items():
        key = f"observations/{name}"
        if item.kind != "number" and (item.gauge or item.error is not None or item.believed or item.decided_by):
            report(key, (), "gauge, error, believed and decided_by are of numbers alone", "")
        if item.gauge and known_entry(knowledge, key, ("gauge",), item.gauge, "gauges", report):
            read = knowledge.gauges[item.gauge].unit
            same_kind(key, ("gauge",), f"the gauge '{item.gauge}' reads", read, (item.unit,), report)
        if item.error is not None and not item.error > 0:
            report(key, ("error",), f"'{item.error:g}' is no error of a gauge", "a number above 0")
        if item.decided_by and item.decided_by not in figures:
            report(
                key,
                ("decided_by",),
                f"there is no figure '{item.decided_by}' in an engine sheet",
                nearest(item.decided_by, figures),
            )
        if item.believed:
            here, unit = item.believed, "percent" if item.believed.share_of else item.unit
            found = limit_at(knowledge, key, ("believed", "most"), here.most, unit, report)
            for field, kinds, units in (("per", (Fit, str), ("in",)), ("share_of", (Fit,), (item.unit,))):
                named = getattr(here, field)
                if named and field_at(key, ("believed", field), named, sheet, kinds, report):
                    field_kind(key, ("believed", field), named, units, report)
            if found is not None:
                per_inch_of(key, ("believed",), here.per, {here.most: found}, report)
            template_at(key, ("believed", "told"), here.told, ("most", "inches", "new"), report)


def check_given_by(knowledge: Knowledge, name: str, by: str, report: Report) -> None:
    key = f"reduced/{name}"
    if (
        known_entry(knowledge, key, ("computed_by",), by, "computed", report)
        and name not in knowledge.computed[by].facts.values()
    ):
        report(
            key,
            ("computed_by",),
            f"the computation '{by}' does not give '{name}'",
            f"it gives {', '.join(knowledge.computed[by].facts.values()) or 'no fact'}",
        )


def check_computed(knowledge: Knowledge, name: str, item: Computed, sheet: dict[str, type], report: Report) -> None:
    key = f"computed/{name}"
    signature = SIGNATURES.get(item.by)
    if signature is None:
        report(key, ("by",), f"there is no function '{item.by}'", nearest(item.by, SIGNATURES))
        return
    for part in PARTS:
        given, wanted = getattr(item, part), getattr(signature, part)
        for parameter in given:
            if parameter not in wanted:
                report(
                    key,
                    (part, parameter),
                    f"'{item.by}' takes no {part} '{parameter}'",
                    nearest(parameter, wanted) or (f"it takes {', '.join(wanted)}" if wanted else "leave it out"),
                )
        missing = [parameter for parameter in wanted if parameter not in given]
        if missing:
            report(
                key,
                (part,) if given else (),
                f"'{item.by}' is not given {part} '{missing[0]}'",
                f"it takes {', '.join(wanted)}",
            )
    for part, where in (
        ("readings", "observations"),
        ("gauges", "gauges"),
        ("facts", "reduced"),
        ("judged", "reduced"),
        ("also", "computed"),
    ):
        for parameter, other in getattr(item, part).items():
            if not known_entry(knowledge, key, (part, parameter), other, where, report):
                continue
            if part == "facts" and knowledge.reduced[other].computed_by != name:
                report(
                    key,
                    (part, parameter),
                    f"'{other}' does not say that it is computed by '{name}'",
                    f"write computed_by: {name} there",
                )
            if part == "judged" and knowledge.reduced[other].judge is None:
                report(key, (part, parameter), f"'{other}' is not judged", "name a fact with judge")
            if part == "also" and parameter in signature.also and knowledge.computed[other].by != parameter:
                report(key, (part, parameter), f"'{other}' is not computed by '{parameter}'", "")
    units = _readings(knowledge, key, item, signature, report)
    for parameter, gauge in item.gauges.items():
        if gauge in knowledge.gauges:
            same_kind(
                key, ("gauges", parameter), f"the gauge '{gauge}' reads", knowledge.gauges[gauge].unit, units, report
            )
    for parameter, limit in item.limits.items():
        found = limit_at(knowledge, key, ("limits", parameter), limit, "", report)
        if (
            found is not None
            and found.unit in DIMENSION
            and not any(f"limits/{name}" in knowledge.replaced for name in spelt(limit))
        ):  # told at the figure itself
            same_kind(key, ("limits", parameter), f"'{limit}' is", found.unit, (*units, "percent"), report)
    for parameter, chosen in item.sheet.items():
        for index, field in enumerate(chosen):
            if (
                field_at(key, ("sheet", parameter, index), field, sheet, (Fit, Journal, str), report)
                and sheet[field] is not Journal
            ):
                field_kind(key, ("sheet", parameter, index), field, units, report)


def _readings(knowledge: Knowledge, key: str, item: Computed, signature: Signature, report: Report) -> list[str]:
    """Units of the readings that are numbers; those that are not what the function takes are reported."""
    units = []
    for parameter, name in item.readings.items():
        seen = knowledge.observations.get(name)
        if seen is None or parameter not in signature.readings:
            continue
        word, grid = parameter in signature.words, parameter in signature.grids
        if (seen.kind == "choice") != word or bool(seen.rows) != grid:
            wanted = "a choice" if word else "a number read at several places" if grid else "a single number"
            report(key, ("readings", parameter), f"'{name}' is no such reading: '{item.by}' takes {wanted} here", "")
        elif not word:
            units.append(seen.unit)
    return units
