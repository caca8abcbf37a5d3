"""A price as people and tills write it: currency signs, decimal commas, thousands marks, '12.-'."""

from __future__ import annotations

import re
from decimal import Decimal

from ..model.frozen import dataclass

SIGNS = {
    "$": ("USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD"),
    "€": ("EUR",),
    "£": ("GBP", "EGP"),
    "¥": ("JPY", "CNY"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "zł": ("PLN",),
    "₹": ("INR",),
    "fr.": ("CHF",),
    "r": ("ZAR",),
}
"""Sign -> currencies that write it."""
NONE = frozenset({"", "-", "--", "n/a", "na", "poa", "call", "tba", "tbc", "tbd", "ask", "none", "?", "x"})
"""What stands where there is no price."""
MOST = Decimal(10) ** 9

_BEFORE = re.compile(r"^([A-Za-z]{3}(?![A-Za-z])|[Kk]r\.?|[Ff]r\.|z[łl]|US\$|[A-Z]{1,2}\$|R(?=\s?[0-9])|[$€£¥₹])\s*")
_AFTER = re.compile(r"\s*(?<![A-Za-z])([A-Za-z]{3}|[Kk]r\.?|z[łl]|[$€£¥₹])$")
_EACH = re.compile(r"\s*(?:/|per\s|a\s|@)?\s*\b(?:each|ea|pcs?|piece|set|pair|hour|hr|h|stk|st)\.?$", re.IGNORECASE)
_DIGITS = re.compile(r"(?:[0-9]|[.,](?=[0-9]))[0-9.,' ]*")


class NoPrice(ValueError):
    """A text that is no price that can be taken; the message says why."""


class Unclear(NoPrice):
    """A text that may be two prices, such as '1,234'."""


@dataclass(frozen=True, slots=True)
class Way:
    """How one list writes its figures, as far as it shows."""

    decimal: str = ""
    """'.' or ','; empty where nothing tells."""


NO_WAY = Way()


def typed_price(text: str, currency: str, way: Way = NO_WAY) -> Decimal | None:
    """The price in a text; None where the text says that there is none.

    Raises NoPrice for what is negative, a formula, in another currency, finer than a cent or no price at all, and
    Unclear where a comma or point may be either and the way of the list does not tell.
    """
    shown = text.strip()
    plain = re.sub(r"[\s\u00a0\u2007\u2009\u202f]+", " ", shown).strip().replace("\u2019", "'")
    if plain.lower() in NONE:
        return None
    if plain[0] in "=@" or re.match(r"[-+]\s*[A-Za-z(]", plain):
        raise NoPrice(f"'{shown[:40]}' is a formula, not a price")
    if (
        plain[0] in "-\u2212"
        or (plain[0] == "(" and plain[-1] == ")")
        or (plain[-1] == "-" and not re.search(r"[.,]-+$", plain))
    ):
        raise NoPrice(f"'{shown[:40]}' is negative; a price is 0 or more")
    if not re.search(r"[0-9]", plain):
        raise NoPrice(f"'{shown[:40]}' is not a price")
    bare = _without_currency(_EACH.sub("", plain.removeprefix("+").strip()), currency, shown)
    bare = re.sub(r"[.,]-+$", "", bare)
    if not _DIGITS.fullmatch(bare):
        raise NoPrice(f"'{shown[:40]}' is not a price")
    return _number(bare, way, shown)


def _without_currency(text: str, currency: str, shown: str) -> str:
    for pattern in (_BEFORE, _AFTER):
        match = pattern.search(text)
        if match is None:
            continue
        sign = match.group(1)
        if not _fits(sign, currency):
            raise NoPrice(f"'{shown[:40]}' is not in {currency}, the currency of the list")
        text = (text[: match.start()] + text[match.end() :]).strip()
    return text


def _fits(sign: str, currency: str) -> bool:
    bare = sign.strip().lower()
    if bare.endswith("$") and len(bare) > 1:
        return currency.lower().startswith(bare[:-1]) if len(bare) == 3 else currency[0].lower() == bare[0]
    known = SIGNS.get(bare) or SIGNS.get(bare.rstrip(".")) or SIGNS.get(f"{bare.rstrip('.')}.")
    if bare == "zl":
        known = SIGNS["zł"]
    return currency in known if known else bare.upper() == currency


def _number(bare: str, way: Way, shown: str) -> Decimal:
    """The amount: spaces and apostrophes part thousands; of comma and point the last one parts the cents."""
    text = bare.strip()
    if re.search(r"[ ']", text):
        head = re.split(r"[.,]", text)[0]
        if not re.fullmatch(r"[0-9]{1,3}(?:[ '][0-9]{3})+", head):
            raise NoPrice(f"'{shown[:40]}' is not a price")
        text = re.sub(r"[ ']", "", text)
    marks = [mark for mark in text if mark in ".,"]
    whole, cents = text, ""
    if len(set(marks)) == 2 or (len(marks) == 1 and _parts_cents(text, way, shown)):
        at = max(text.rfind("."), text.rfind(","))
        whole, cents = text[:at], text[at + 1 :]
        if len(set(marks)) == 2 and text[at] in whole:
            raise NoPrice(f"'{shown[:40]}' is not a price")
    if (
        not re.fullmatch(r"[0-9]*|[0-9]{1,3}(?:[.,][0-9]{3})+", whole)
        or not re.fullmatch(r"[0-9]{0,2}", cents)
        or not (whole or cents)
    ):
        raise NoPrice(f"'{shown[:40]}' is not a price" + (", or finer than a cent" if len(cents) > 2 else ""))
    amount = Decimal(f"{re.sub('[.,]', '', whole) or '0'}.{cents or '0'}")
    if amount >= MOST:
        raise NoPrice(f"'{shown[:40]}' is more than any price")
    return amount.quantize(Decimal("0.01"))


def _parts_cents(text: str, way: Way, shown: str) -> bool:
    """Whether the one mark in a figure parts the cents."""
    mark = next(mark for mark in text if mark in ".,")
    before, after = text.split(mark)
    if len(after) != 3 or len(before) > 3 or before in ("", "0"):
        return True
    if not way.decimal:
        raise Unclear(f"'{shown[:40]}' may be {before}{after} or {before} and a bit; write it with two decimals")
    return way.decimal == mark


def way_of(texts: list[str]) -> Way:
    """How a column writes its figures: by those that can be read in one way only."""
    found = set()
    for text in texts:
        match = re.search(r"[0-9][0-9., ']*", text)
        figure = match.group().rstrip("., ") if match else ""
        marks = [mark for mark in figure if mark in ".,"]
        if len(set(marks)) == 2:
            found.add(figure[max(figure.rfind("."), figure.rfind(","))])
        elif len(marks) == 1 and len(figure.split(marks[0])[1]) in (1, 2):
            found.add(marks[0])
        elif len(marks) > 1:
            found.add("," if marks[0] == "." else ".")
    return Way(found.pop()) if len(found) == 1 else Way()
