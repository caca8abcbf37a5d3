"""Draws the pictures of the docs from what the program really prints: python docs/make_pictures.py

A quote from an incomplete price list, and what of a supplier's table matched. Engine, customer and prices are invented.
"""

from __future__ import annotations

import io
import re
import tempfile
from html import escape
from pathlib import Path

from rich.console import Console

from howdeep.assessment.session import open_shop
from howdeep.knowledge.where import shipped_cases
from howdeep.pricing.csv_import import table_of
from howdeep.pricing.matching import matched
from howdeep.pricing.read import example_prices
from howdeep.quote.build import build_quote
from howdeep.show.import_text import import_lines
from howdeep.show.quote_text import quote_text

FOLDER = Path(__file__).with_name("pictures")
CASE = "smoke_and_low_compression_with_dry_seals_stays_in_the_frame.yaml"
TODAY = "2026-11-29"
LACKING = ("ring_set", "grind_valve")
"""Figures that the list of the picture does not have."""
EXAMPLES = ("head_gasket", "cut_seat_in_head", "tax_percent")
OLD = ("rod_bolts", "hot_tank_head")
SUPPLIER = """\
Item;Sell (EUR)
GSKT CYL HEAD;51,25
Piston ring set .030;38,00
Welch plugs;1.026,00
Fan belt;14,90
Windscreen wiper;4,00
Oil filter;=HYPERLINK("x")
Exhaust valve;-27,00
"""


def incomplete_list() -> str:
    """The example list as a shop's own, with figures missing, left as examples and grown old."""
    text = example_prices().read_text(encoding="utf-8").replace("example: true\n", "")
    text = text.replace("Millrace Engine Shop, an invented shop", "Hill Farm Engines, invented").replace(
        'date: "2024-03-01"', "date: 2026-11-01"
    )
    for name in LACKING:
        text = re.sub(rf"(?m)^  {name}: .*\n", "", text)
    for names, mark in ((EXAMPLES, "example: true"), (OLD, "date: 2024-05-01")):
        for name in names:
            text = re.sub(rf'(?m)^( *{name}): ("[0-9.]+")$', rf"\1: {{figure: \2, {mark}}}", text)
    return text


def quote_lines() -> list[str]:
    """The quote, with the lines that the picture is not about left out."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "prices.yaml"
        path.write_text(incomplete_list(), encoding="utf-8")
        shop = open_shop(None, path)
        answer = shop.assess(shop.open_job(shipped_cases() / CASE), flips=False)
        quote = build_quote(shop.knowledge, answer, shop.prices, "refresh", two_step=False)
    lines = printed(quote_text(quote, today=TODAY))
    notes = next(number for number, line in enumerate(lines) if line.startswith(" ! Without a price"))
    labour = next(number for number, line in enumerate(lines) if line == "LABOUR")
    parts = next(number for number, line in enumerate(lines) if line == "PARTS")
    shown = [*lines[:2], "   ...", *lines[notes:labour], *lines[parts : parts + 1]]
    for words in ("Head gasket", "Piston ring set", "Rod bolts", "Thermostat"):
        shown += [line for line in lines[parts:] if line.startswith(f"  {words}")][:1]
    sums = next(number for number, line in enumerate(lines) if line.startswith("SO FAR"))
    return [*shown, "   ...", *lines[sums - 1 : sums + 5]]


def import_picture() -> list[str]:
    """What of a supplier's table matched."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "prices.yaml"
        path.write_text(incomplete_list().replace("currency: USD", "currency: EUR"), encoding="utf-8")
        shop = open_shop(None, path)
    table = table_of(SUPPLIER.encode(), "supplier.csv", "EUR")
    found = matched(shop.knowledge, table.rows, shop.prices)
    return printed(import_lines(shop.knowledge, table, found, shop.prices))


def printed(parts) -> list[str]:
    """Lines as a terminal of 80 columns shows them."""
    console = Console(file=io.StringIO(), width=80, no_color=True, highlight=False, emoji=False, markup=False)
    for part in parts:
        console.print(part)
    return [line.rstrip() for line in console.file.getvalue().splitlines()]


def svg(title: str, lines: list[str]) -> str:
    """Lines of text as a picture that loads nothing and follows the reader's light or dark."""
    height = 18 * len(lines) + 24
    rows = "".join(
        f'<text x="12" y="{24 + 18 * number}">{escape(line)}</text>\n' for number, line in enumerate(lines) if line
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 700 {height}" role="img">\n<title>{escape(title)}'
        "</title>\n<style>rect{fill:#fff;stroke:#999}text{font:14px monospace;fill:#111;white-space:pre}"
        "@media(prefers-color-scheme:dark){rect{fill:#16181b}text{fill:#ececec}}</style>\n"
        f'<rect x=".5" y=".5" width="699" height="{height - 1}"/>\n{rows}</svg>\n'
    )


def pictures() -> dict[str, str]:
    """File name -> picture."""
    return {
        "quote_incomplete.svg": svg("A quote from an incomplete price list", quote_lines()),
        "import.svg": svg("What of a supplier's table matched", import_picture()),
    }


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, text in pictures().items():
        (FOLDER / name).write_text(text, encoding="utf-8")
        print(f"written: {FOLDER / name}")
