"""The text of a printed figure taken apart: numbers, units, and the few words that manuals put beside them."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from ..model.frozen import dataclass
from .printed_units import SAID, squeezed

Kind = Literal[
    "number",
    "unit",
    "range",
    "separator",
    "low",
    "high",
    "limit",
    "at",
    "hot",
    "cold",
    "oiled",
    "dry",
    "plus",
    "minus",
    "steps",
    "standard",
    "word",
]


@dataclass(frozen=True, slots=True)
class Token:
    """One part of what was typed."""

    kind: Kind
    text: str
    value: Fraction = Fraction(0)
    """Of a number."""
    dimension: str = ""
    """Of a unit."""
    unit: str = ""
    """Of a unit: the one that sheets keep."""
    factor: Fraction = Fraction(1)
    """Of a unit: to the one that sheets keep."""


_FRACTIONS = dict(zip("½¼¾⅛⅜⅝⅞⅓⅔", ("1/2", "1/4", "3/4", "1/8", "3/8", "5/8", "7/8", "1/3", "2/3"), strict=True))
_NUMBER_WORDS = dict(
    zip(
        ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"),
        map(str, range(1, 13)),
        strict=True,
    )
)
_SAID: dict[Kind, str] = {
    "range": "to thru through till until",
    "separator": "and then or also",
    "low": "min minimum least over above",
    "word": (
        "from clean stages stage about approx approximately ca circa dia diam diameter each of the a an is "
        "for with in by between not than engine clearance gap figure bore stroke when inlet exhaust all first "
        "second third final finally o/s u/s oversize oversizes undersize undersizes total length load both "
        "side ring rings top up speed cranking should be must part parts if engines on sizes size cylinder "
        "cylinders volts per piston more less"
    ),
    "high": "max maximum most under below upto exceed",
    "limit": (
        "limit limits wear worn service serviceable replace renew reject discard condemn scrap beyond "
        "allowable permissible allowed"
    ),
    "at": "at",
    "hot": "hot warm",
    "cold": "cold cool",
    "oiled": "oiled lubricated greased wet oil",
    "dry": "dry",
    "steps": "step steps",
    "standard": "std standard nominal new",
    "plus": "plus",
    "minus": "minus",
}
_WORDS: dict[str, Kind] = {word: kind for kind, words in _SAID.items() for word in words.split()}
"""Word beside a figure -> what it says of it; 'word' says nothing."""
_PHRASES = (
    (
        r"\bnot\s+(?:to\s+be\s+)?(?:less|under|below)(?:\s+than)?\b|\bno\s+less\s+than\b|\bat\s+least\b|\bat\s+the\s+least\b",
        " min ",
    ),
    (
        r"\bnot\s+(?:to\s+)?(?:be\s+)?(?:more|over|exceed(?:ing)?|above)(?:\s+than)?\b|\bno\s+more\s+than\b|\bup\s+to\b"
        r"|\bat\s+(?:the\s+)?most\b|\bless\s+than\b|\bmust\s+not\s+exceed\b|\bmay\s+not\s+exceed\b",
        " max ",
    ),
    (r"\bmore\s+than\b|\bor\s+more\b|\band\s+up(?:wards)?\b", " min "),
    (r"\bor\s+less\b|\band\s+under\b", " max "),
    (
        r"\b(?:wear|service|serviceable|replacement|max(?:imum)?\.?\s+wear|max(?:imum)?\.?\s+allowable|max(?:imum)?\.?\s+permissible)"
        r"\s+limit\b|\brenew(?:ed)?\s+(?:at|beyond|over|above|when)\b|\breplace(?:d)?\s+(?:at|beyond|over|above|if|when)\b"
        r"|\bworn\s+out(?:\s+at)?\b|\bleast\s+that\s+will\s+do\b|\bmax(?:imum)?\.?\s+wear\b",
        " limit ",
    ),
    (r"\bin\s+steps\s+of\b|\bsteps\s+of\b|\bevery\b", " steps "),
    (r"\b(\d+|one|two|three|four|five|six|seven|eight|nine|ten)\s+and\s+a\s+half\b", r" \1 1/2 "),
    (r"\bhalf\s+a\s+thou", " 1/2 thou"),
    (r"\ba\s+(?=thou|thousandth)", " 1 "),
)
_NUMBER = r"(?:\d+[ \-]\d+/\d+(?![\d/])|\d+/\d+(?![\d/.])|\d*\.\d+|\d+\.?)"
_TOKEN = re.compile(
    rf"(?P<number>{_NUMBER})|(?P<word>(?:ft|m)3/(?:hr|h|min)\b|[a-z]+/(?:sq\.?\s*)?[a-z]+[2²]?|[a-z]+2?|\"|%|°|\#)|(?P<sign>\+/-|±|[-+,;:@&=/()~.])|(?P<space>\s+)"
    r"|(?P<other>.)"
)
_POWERS = {2, 4, 8, 16, 32, 64}


class Unreadable(ValueError):
    """What was typed cannot be taken; the text says why."""


def tokens(text: str, dimension: str) -> list[Token]:
    """The parts of a figure or several, with the units of `dimension` first. Raises Unreadable for an odd word."""
    tidy = commas(_plain(text), dimension)
    raw = [(match.lastgroup or "", match.group()) for match in _TOKEN.finditer(tidy)]
    found: list[Token] = []
    at = 0
    while at < len(raw):
        group, part = raw[at]
        if group == "number":
            found += _numbers(part)
            at += 1
        elif group == "word":
            token, used = _word(raw, at, dimension, bool(found) and found[-1].kind == "number")
            if token is not None:
                found.append(token)
            at += used
        else:
            if group == "sign":
                found.append(_sign(part))
            elif group == "other":
                raise Unreadable(f"'{part}' cannot be read in '{text.strip()}'")
            at += 1
    return found


def _plain(text: str) -> str:
    """Small letters, plain dashes and fractions, phrases as one word."""
    for sign, plain in _FRACTIONS.items():
        text = text.replace(sign, f" {plain}")
    text = (
        text.replace("⁄", "/").replace("²", "2").replace("·", " ").replace("″", '"').replace("”", '"').replace("“", '"')
    )
    text = text.replace("³", "3").replace("''", '"').replace("×", "x").replace("…", " to ")
    text = re.sub(r"\.{2,}", " to ", re.sub(r"[‐‑‒–—―−]", "-", text)).lower()
    for pattern, put in _PHRASES:
        text = re.sub(pattern, put, text)
    for word, digit in _NUMBER_WORDS.items():
        text = re.sub(rf"\b{word}\b", digit, text)
    return text.strip()


def commas(text: str, dimension: str) -> str:
    """Commas inside numbers settled: decimal ones become points, those of thousands go, others get a space.

    A point in the same run of figures says that its commas are no decimal ones. Three figures behind a single comma are
    thousands only where such numbers are that large: speeds, and torques and pressures in small units.
    """
    if "." not in text:
        text = re.sub(r"(?<!\d),(?=\d)", " 0,", text)  # ',013'
    large = dimension == "speed" or (
        dimension in ("torque", "pressure") and re.search(r"in|psi|kpa", text) and not re.search(r"bar|kg|mpa", text)
    )

    def settled(match: re.Match[str]) -> str:
        run = match.group()
        parts = run.split(",")
        if "." in run:
            thousands = re.fullmatch(r"\d{1,3}(?:,\d{3})+\.\d+", run)
            return run.replace(",", "") if thousands else ", ".join(parts)
        if len(parts) == 2:
            in_thousands = large and len(parts[1]) == 3 and not parts[0].startswith("0")
            return run.replace(",", "" if in_thousands else ".")
        if len(parts) % 2 == 0 and all(part == "0" for part in parts[::2]):
            return ", ".join(f"0.{part}" for part in parts[1::2])
        return ", ".join(parts)

    return re.sub(r"(?:\d*\.)?\d+(?:,(?:\d*\.)?\d+)+", settled, text)


def _numbers(part: str) -> list[Token]:
    """A number; '3-7/16' is three and seven sixteenths, '20-65/70' is not."""
    mixed = re.fullmatch(r"(\d+)([ \-])(\d+)/(\d+)", part)
    if mixed:
        whole, _, top, bottom = mixed.groups()
        if int(bottom) in _POWERS | {3} and int(top) < int(bottom):
            return [Token("number", f"{whole} {top}/{bottom}", int(whole) + Fraction(int(top), int(bottom)))]
        middle = [Token("range", "-")] if mixed.group(2) == "-" else []
        return [Token("number", whole, Fraction(int(whole))), *middle, *_numbers(f"{top}/{bottom}")]
    simple = re.fullmatch(r"(\d+)/(\d+)", part)
    if simple:
        top, bottom = int(simple.group(1)), int(simple.group(2))
        if bottom in _POWERS | {3} and top < bottom:
            return [Token("number", part, Fraction(top, bottom))]
        return [
            Token("number", str(top), Fraction(top)),
            Token("range", "/"),
            Token("number", str(bottom), Fraction(bottom)),
        ]
    text = part.rstrip(".")
    text = f"0{text}" if text.startswith(".") else text
    return [Token("number", text, Fraction(text))]


def _word(raw: list[tuple[str, str]], at: int, dimension: str, after_number: bool) -> tuple[Token | None, int]:
    """The unit that begins at a word, over as many words as it has, else the word; and how many parts it took."""
    best: tuple[Token, int] | None = None
    said, used, here = "", 0, at
    while here < len(raw) and used < 11 and raw[here][0] in ("word", "space", "sign"):
        group, part = raw[here]
        if group == "sign" and part not in "-./":
            break
        said, used, here = said + part, used + 1, here + 1
        if group != "word":
            continue
        for name in dict.fromkeys((dimension, *SAID)):
            unit = SAID.get(name, {}).get(squeezed(said))
            if unit and (name == dimension or not _shared(squeezed(said), name)):
                best = (Token("unit", said, dimension=name, unit=unit[0], factor=unit[1]), used)
                break
    word = raw[at][1]
    known = _WORDS.get(word)
    if best and (known is None or (after_number and word != "at") or best[1] > 1):
        return best
    if known is None:
        raise Unreadable(f"'{word}' is no unit or word known here")
    return (None if known == "word" else Token(known, word)), 1


def _shared(said: str, dimension: str) -> bool:
    """Words such as 'lb' that name a unit only in the dimension that is wanted."""
    return (
        said in ("lb", "lbs", "pound", "pounds", "kg", "kgs", "kilos", "at", "n", "in") and dimension != "length"
    ) or said == "at"


def _sign(part: str) -> Token:
    kinds: dict[str, Kind] = {
        "-": "range",
        ",": "separator",
        ";": "separator",
        "&": "separator",
        "@": "at",
        "+": "plus",
        "+/-": "plus",
        "±": "plus",
        "/": "separator",
    }
    return Token(kinds.get(part, "word"), part)
