"""Quote and letter in a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from rich.console import RenderableType
from rich.table import Table
from rich.text import Text

from ..quote.values import Quote
from .annex import KINDS
from .estimate_blocks import OUT_OF_RANGE
from .layout import heading, indent, item
from .paper_parts import Letter, letter_parts
from .price_notes import kind_note, line_note, price_notes
from .spoken import AsSaid, Said
from .words import ADVICE, ADVICE_SHORT, chance, every_words, money, percent


def quote_text(
    quote: Quote, *, shop_copy: bool = False, head: str = "", general: str = "", today: str = ""
) -> Iterator[RenderableType]:
    """A quote line by line, each line with the reason for it. `head` says where it is no promise, `general` where its
    figures are not those of the engine's maker; `today` is the day by which prices are old (none is without it)."""
    yield Text(f"\nAnnex: {quote.title}", style="bold")
    for text in filter(None, (head, general)):
        yield item(text, "!")
    yield indent(
        f"The chance that this is enough is {percent(quote.enough)}. {every_words(quote.enough, quote.every)}".rstrip()
    )
    if quote.worth:
        yield indent(quote.worth)
    if quote.held:
        yield item(
            f"Not to be promised before these checks are made or waived in writing: {', '.join(quote.held)}.", "!"
        )
    for sentence in quote.waived:
        yield item(sentence, "!")
    for note in price_notes(quote, today):
        yield item(note, "!")
    for kind, title in KINDS.items():
        lines = [line for line in quote.lines if line.kind == kind]
        if not lines:
            continue
        note = kind_note(lines, quote, today)
        yield heading(f"{title} ({note})" if note else title)
        table = Table.grid(padding=(0, 1), expand=True)
        table.add_column(ratio=1)
        table.add_column(justify="right", no_wrap=True)
        table.add_column(justify="right", no_wrap=True)
        for line in lines:
            size = f", {line.size}" if line.size else " (size after measuring)" if line.waits_for else ""
            count = f"{line.quantity.normalize():f}" + {"labour": " h", "supplies": " %"}.get(kind, "")
            note = line_note(line, quote, today)
            table.add_row(Text(f"  {line.title}{size}" + (f"  [{note}]" if note else "")), count, money(line.amount))
            table.add_row(indent(line.why, 4))
            if shop_copy and line.evidence:
                table.add_row(indent(f"[{', '.join(line.evidence)}]", 4))
        yield table
    if quote.total is not None:
        yield heading("Total")
        table = _sums()
        table.add_row("  Sum of the lines", money(quote.subtotal))
        table.add_row(f"  Tax, {quote.tax_percent} % on {', '.join(quote.tax_on)}", money(quote.tax))
        table.add_row("  Total", money(quote.total, quote.currency))
        if quote.deposit:
            table.add_row(f"  Deposit, {quote.deposit_percent} %", money(quote.deposit))
        if quote.allowances:
            table.add_row("  With what may turn up, half come to no more", money(quote.likely))
            table.add_row("  Range: nine in ten end within it", f"{money(quote.low)} to {money(quote.high)}")
        yield table
        yield indent(
            f"Holds for {quote.valid_days} days. Each line is rounded to the cent, halves upwards; "
            "tax is charged once on the sum of the taxed lines."
        )
    elif quote.known_total is not None:
        yield heading(f"So far, without the {len(quote.unpriced)} lines that have no price")
        table = _sums()
        table.add_row("  Sum of the lines that have a price", money(quote.known_subtotal))
        table.add_row(f"  Tax on them, {quote.tax_percent} % on {', '.join(quote.tax_on)}", money(quote.known_tax))
        table.add_row("  So far; not a total", money(quote.known_total, quote.currency))
        yield table
        yield indent("No deposit and no range are worked out while prices are missing.")
    if quote.allowances:
        yield heading("Only if we find this (with tax)")
        yield indent(OUT_OF_RANGE)
        for entry in quote.allowances[:12]:
            more = "no full price" if entry.amount is None else f"{money(entry.amount)} more"
            yield item(f"{entry.title}: {chance(entry.chance)}, {more}. {entry.why}")
    if quote.two_steps:
        steps = quote.two_steps
        yield heading("In two steps, if preferred")
        yield indent(steps.because)
        yield item(f"Strip and inspect, with a written report: {money(steps.inspection, quote.currency)}")
        yield item(f"Stop there, in pieces: {steps.way_back_in_pieces}")
        yield item(
            "Stop there, put together as it was: "
            + (
                money(steps.way_back_assembled, quote.currency)
                if steps.way_back_assembled is not None
                else "by the hour"
            )
        )
        if steps.cap is not None:
            which = f", {steps.cap_because}" if steps.cap_because else ""
            yield item(f"We call before anything beyond {money(steps.cap, quote.currency)}{which}; a yes is recorded.")
    yield indent(f"\nPrice list: {quote.price_list}, {quote.price_date}. {ADVICE}")


def _sums() -> Table:
    """A table of sums: what each is, and the amount at the right."""
    table = Table.grid(padding=(0, 2))
    table.add_column()
    table.add_column(justify="right")
    return table


def compare_text(quote: Quote, other: Quote, extra: list[tuple[str, str]]) -> Iterator[RenderableType]:
    """Two scopes side by side."""
    yield heading(f"{quote.title} beside {other.title.lower()}")
    table = Table.grid(padding=(0, 2))
    for _ in range(3):
        table.add_column()
    table.add_row("", quote.title, other.title)
    table.add_row("  Total", money(quote.total, quote.currency), money(other.total, quote.currency))
    table.add_row("  Enough", percent(quote.enough), percent(other.enough))
    if quote.total is not None and other.total is not None:
        table.add_row("  Difference", "", money(other.total - quote.total, quote.currency))
    yield table
    for title, where in extra:
        yield item(f"{title}: {where}")


def letter_text(letter: Letter) -> Iterator[RenderableType]:
    """The letter to the customer."""
    yield Text(f"{letter.title}, in plain words", style="bold")
    for text in letter.head:
        yield item(text, "!")
    for title, lines in letter_parts(letter):
        yield heading(title)
        for line in lines:
            yield indent(Said(line) if isinstance(line, AsSaid) else line)
    yield Text("")
    for line in letter.sign:
        yield indent(f"{line}: ____________________  Date: __________")
    yield indent("\n" + " ".join(filter(None, (ADVICE_SHORT, letter.used))))
