"""A supplier's or a till's table of parts and prices, read forgivingly: encoding, separator, columns, figures.

Cells are text and nothing else: a formula is neither worked out nor written anywhere.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from ..errors import Fault, HowdeepError, listed, nearest
from ..files.strict_yaml import read_bytes
from ..model.frozen import dataclass
from .typed import NoPrice, typed_price, way_of

MAX_BYTES = 4_000_000
MAX_ROWS = 50_000
MAX_CELL = 300
"""Letters of a cell that are looked at and shown."""
_PARTS = (
    "part",
    "item",
    "description",
    "name",
    "article",
    "product",
    "part name",
    "item description",
    "operation",
    "work",
    "service",
    "bezeichnung",
    "artikel",
    "beschreibung",
    "designation",
    "article name",
    "onderdeel",
    "omschrijving",
    "descripcion",
    "pieza",
    "descrizione",
    "detail",
    "details",
    "part description",
)
_PRICES = (
    "price",
    "unit price",
    "sell",
    "sell price",
    "selling price",
    "retail",
    "retail price",
    "list",
    "list price",
    "price each",
    "each",
    "net price",
    "net",
    "amount",
    "rate",
    "charge",
    "preis",
    "einzelpreis",
    "prix",
    "precio",
    "prezzo",
    "prijs",
    "value",
    "cost",
    "unit cost",
    "cost price",
    "trade",
    "trade price",
)
"""Headings of a column of prices, the one that is taken first in front."""
_NOT_PRICES = (
    "qty",
    "quantity",
    "stock",
    "min",
    "max",
    "weight",
    "no",
    "nr",
    "part no",
    "part number",
    "sku",
    "code",
    "ean",
    "id",
    "number",
)
_SAMPLE = 400


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    line: int
    """Line in the file, from 1."""
    part: str
    shown: str
    """What stands in its price cell."""
    price: Decimal | None
    """None where there is none or it cannot be taken."""
    why: str = ""
    """Why it cannot be taken; empty where it can, or where there is none."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table of parts and prices, and how it was read."""

    rows: tuple[Row, ...]
    encoding: str
    separator: str
    part_column: str
    price_column: str
    decimal: str
    """'.' or ',' as far as the figures show; empty where they do not."""


def read_table(path: str | Path, currency: str, *, part_column: str = "", price_column: str = "") -> Table:
    """Read a file. Raises HowdeepError where it cannot be read as a table with a part and a price in each row."""
    raw = read_bytes(path, max_bytes=MAX_BYTES)
    return table_of(raw, str(path), currency, part_column=part_column, price_column=price_column)


def table_of(raw: bytes, file: str, currency: str, *, part_column: str = "", price_column: str = "") -> Table:
    """The same from bytes; `file` names them in faults."""
    text, encoding = decoded(raw, file)
    separator = separator_of(text)
    cells = _cells(text, separator, file)
    if not cells:
        raise HowdeepError(Fault(file, 0, 0, "holds no rows"))
    first = cells[0][1]
    headed = _is_heading(first)
    names = [_clean(cell) for cell in first] if headed else [f"column {number}" for number in range(1, len(first) + 1)]
    names += [f"column {number}" for number in range(len(names) + 1, max(len(row) for _, row in cells) + 1)]
    body = cells[1:] if headed else cells
    price = _column(names, price_column, file) if price_column else _best(names, _PRICES)
    if price is None:
        price = _by_content(body, currency, names)
    part = _column(names, part_column, file) if part_column else _best(names, _PARTS, price)
    if part is None:
        part = _longest_text(body, price)
    if price is None or part is None:
        raise HowdeepError(
            Fault(
                file,
                cells[0][0],
                0,
                "no column of parts and prices was found",
                f"name them with --part-column and --price-column; columns: {listed(names)}",
            )
        )
    way = way_of([_cell(row, price) for _, row in body[: _SAMPLE * 10]])
    rows = []
    for line, row in body:
        name, shown = _clean(_cell(row, part)), _clean(_cell(row, price))
        if not name and not shown:
            continue
        amount, why = None, ""
        try:
            amount = typed_price(shown, currency, way)
            if amount is not None and not amount:
                amount, why = None, "a price of 0 is taken for none"
        except NoPrice as error:
            why = str(error)
        rows.append(Row(line, name, shown, amount, why))
    return Table(tuple(rows), encoding, separator, names[part], names[price], way.decimal)


def decoded(raw: bytes, file: str) -> tuple[str, str]:
    """(text, encoding): by its mark, else UTF-8, else Windows-1252. Raises HowdeepError for what is no text."""
    for mark, name in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if raw.startswith(mark):
            try:
                return raw.decode(name), name.removesuffix("-sig")
            except UnicodeDecodeError:
                raise HowdeepError(Fault(file, 0, 0, f"begins as {name} and is not")) from None
    if b"\0" in raw:
        raise HowdeepError(Fault(file, 0, 0, "is no text (a spreadsheet's own file?)", "save it as CSV first"))
    if raw.startswith(b"PK"):
        raise HowdeepError(Fault(file, 0, 0, "is a spreadsheet's own file", "save it as CSV first"))
    try:
        return raw.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace"), "windows-1252"


def separator_of(text: str) -> str:
    """The character between cells: the one by which most of the first lines have the same number of cells."""
    lines = [line for line in text.splitlines()[:_SAMPLE] if line.strip()]
    if lines and re.fullmatch(r"sep=.", lines[0].strip().lower()):
        return lines[0].strip()[-1]
    best, most = ",", (0, 0)
    for mark in (";", "\t", ",", "|"):
        counts = [len(row) for row in _reader("\n".join(lines), mark)]
        usual = max(set(counts), key=lambda count: (counts.count(count), count), default=1)
        found = (counts.count(usual) if usual > 1 else 0, usual)
        if found[0] > most[0]:
            best, most = mark, found
    return best


def _reader(text: str, separator: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text), delimiter=separator, skipinitialspace=True))
    except csv.Error:
        return []


def _cells(text: str, separator: str, file: str) -> list[tuple[int, list[str]]]:
    """(line, cells) of every row that is not empty."""
    csv.field_size_limit(MAX_BYTES)
    rows: list[tuple[int, list[str]]] = []
    reader = csv.reader(
        io.StringIO(text.replace("\r\n", "\n").replace("\r", "\n")), delimiter=separator, skipinitialspace=True
    )
    line = 1
    try:
        for row in reader:
            if any(cell.strip() for cell in row) and not (line == 1 and row[0].lower().startswith("sep=")):
                rows.append((line, row))
            line = reader.line_num + 1
            if len(rows) > MAX_ROWS:
                raise HowdeepError(Fault(file, line, 0, f"holds more than {MAX_ROWS:,} rows"))
    except csv.Error as error:
        raise HowdeepError(Fault(file, line, 0, f"is no table that can be read: {error}")) from None
    return rows


def _clean(cell: str) -> str:
    """A cell on one line, without characters that a terminal would act on."""
    text = "".join(
        " " if unicodedata.category(char) in ("Cc", "Cf", "Zl", "Zp", "Cs", "Co", "Cn") else char
        for char in cell[:MAX_CELL]
    )
    return " ".join(text.split())


def _cell(row: Sequence[str], column: int) -> str:
    return row[column] if column < len(row) else ""


def _plain_heading(name: str) -> str:
    text = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    text = re.sub(r"\(.*?\)|\b(usd|eur|gbp|cad|aud|nzd|incl|excl|inc|ex|vat|tax|gst|euro|in)\b|[^a-z ]", " ", text)
    return " ".join(text.split())


def _is_heading(row: Sequence[str]) -> bool:
    """Whether a row names columns: some known name in it, and no figure."""
    known = [_plain_heading(cell) in (*_PARTS, *_PRICES, *_NOT_PRICES) for cell in row]
    figures = [bool(re.fullmatch(r"[^A-Za-z]*[0-9][0-9.,' ]*[^A-Za-z]*", cell.strip())) for cell in row]
    return (any(known) and not any(figures)) or (
        not any(figures)
        and all(cell.strip() for cell in row)
        and len(row) > 1
        and not any(re.search(r"[0-9]", cell) for cell in row)
    )


def _column(names: Sequence[str], wanted: str, file: str) -> int:
    """A column by its heading or its number. Raises HowdeepError where there is none."""
    if wanted.isdecimal() and 1 <= int(wanted) <= len(names):
        return int(wanted) - 1
    for number, name in enumerate(names):
        if name.casefold() == wanted.strip().casefold():
            return number
    raise HowdeepError(
        Fault(file, 1, 0, f"there is no column '{wanted}'", nearest(wanted, names) or f"columns: {listed(list(names))}")
    )


def _best(names: Sequence[str], known: Sequence[str], taken: int | None = None) -> int | None:
    """The column whose heading stands first among the known ones."""
    plain = [_plain_heading(name) for name in names]
    places = [(known.index(name), number) for number, name in enumerate(plain) if name in known and number != taken]
    return min(places)[1] if places else None


def _by_content(body: list[tuple[int, list[str]]], currency: str, names: Sequence[str]) -> int | None:
    """The column most of whose cells are prices, those with cents or a sign first; of several the last."""
    best: tuple[float, int] | None = None
    for number, name in enumerate(names):
        if _plain_heading(name) in _NOT_PRICES:
            continue
        texts = [_cell(row, number).strip() for _, row in body[:_SAMPLE]]
        way, score = way_of(texts), 0.0
        for text in texts:
            try:
                score += (1.0 if re.search(r"[.,][0-9]{2}\b|[$€£]", text) else 0.4) * (
                    text != "" and typed_price(text, currency, way) is not None
                )
            except NoPrice:
                continue
        if score and score >= 0.3 * len(texts) and (best is None or score >= best[0]):
            best = score, number
    return best[1] if best else None


def _longest_text(body: list[tuple[int, list[str]]], price: int | None) -> int | None:
    """The column with the most letters."""
    width = max((len(row) for _, row in body), default=0)
    letters = {
        number: sum(len(re.findall(r"[^\W\d_]", _cell(row, number))) for _, row in body[:_SAMPLE])
        for number in range(width)
        if number != price
    }
    return max(letters, key=lambda number: (letters[number], -number)) if letters and max(letters.values()) else None
