"""The change sheet in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.text import Text

from ..quote.values import ChangeSheet
from .layout import heading, indent, item
from .words import money, moved


def change_text(sheet: ChangeSheet, currency: str, *, general: str = "") -> Iterator[RenderableType]:
    """The change sheet."""
    yield Text(
        f"Change sheet{f' {sheet.number}' if sheet.number else ''} against the promise "
        f"'{sheet.promise}' of {sheet.promised_on}",
        style="bold",
    )
    if general:
        yield item(general, "!")
    yield indent(f"Scope: {sheet.rung_before} -> {sheet.rung_after}")
    yield indent(f"Total: {money(sheet.total_before, currency)} -> {money(sheet.total_after, currency)}")
    if sheet.moved is not None and sheet.tax_moved is not None:
        yield indent(f"Moved: {moved(sheet.moved)} for work and parts, {moved(sheet.tax_moved)} tax")
    if sheet.needs_yes is not None:
        yield item(
            f"Needs the customer's yes: {money(sheet.needs_yes, currency)} beyond the "
            f"{money(sheet.authorised, currency)} agreed.",
            "!",
        )
    else:
        yield indent("Within what was agreed.")
    yield heading("What was found")
    for line in sheet.found or ("Nothing measured yet.",):
        yield item(line)
    for photo in sheet.photos:
        yield item(f"Photograph of {photo.date}: {photo.title} ({photo.file})")
    for title, changes in (("Added", sheet.added), ("Taken out", sheet.removed), ("Changed", sheet.changed)):
        if changes:
            yield heading(title)
        for change in changes:
            before = money(change.before) if change.before is not None else "-"
            after = money(change.after) if change.after is not None else "-"
            yield item(f"{change.title}: {before} -> {after}. {change.because}")
    if sheet.yeses:
        yield heading("The customer's yes")
    for yes in sheet.yeses:
        yield item(f"{money(yes.amount, currency)}: " + ", ".join(filter(None, (yes.by, yes.how, yes.date, yes.time))))
    if sheet.used:
        yield heading("Allowances used")
        for title in sheet.used:
            yield item(title)
