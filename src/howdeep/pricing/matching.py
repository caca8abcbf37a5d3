"""Names of a supplier's list matched to parts and machine-shop works: exactly, nearly, or not at all."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from decimal import Decimal
from difflib import SequenceMatcher
from typing import Literal

from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from .asked import asked
from .csv_import import Row
from .money import read_money
from .places import figure_at
from .stand_ins import weighing

Kind = Literal["exact", "near", "none", "refused"]
CANDIDATES = 3
NEAR = 0.62
"""From this likeness on a name is offered as near (judgement, held by the tests' list of supplier names)."""
FAR = Decimal(8)
"""A price so many times the figure that stood there, or so small a part of it, is asked about."""
_IGNORED = frozenset(
    (
        "a",
        "an",
        "the",
        "of",
        "for",
        "in",
        "one",
        "each",
        "per",
        "pair",
        "pack",
        "set",
        "kit",
        "complete",
        "new",
        "std",
        "standard",
        "genuine",
        "oem",
        "and",
        "or",
        "to",
        "on",
        "engine",
    )
)
"""Words that tell no two parts apart."""
_SIZE = re.compile(r"[0-9]|^(os|us|oversize|undersize|thou|mm|inch)$")


@dataclass(frozen=True, slots=True)
class Match:
    """One row and what it is taken for."""

    row: Row
    kind: Kind
    places: tuple[str, ...]
    """Places in the price list, the likeliest first; empty where nothing is like it."""
    why: str = ""
    """Why it is not exact, or not taken."""
    before: str = ""
    """The shop's figure that stands at the first place now; empty where there is none or an example."""
    slip: bool = False
    """Whether the price looks like a slip."""

    @property
    def one_meant(self) -> bool:
        """Whether it can mean one thing only, at a price that may be right."""
        return len(self.places) == 1 and not self.slip


def tokens_of(text: str, known: Mapping[str, str]) -> tuple[str, ...]:
    """A name as words in the rule base's spelling, in order of the alphabet; sizes and numbers are kept."""
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower().replace("_", " ")
    plain = re.sub(r"(?<=[a-z])\.(?=[a-z])|[^a-z0-9./]+", " ", plain.replace("'", ""))
    found: list[str] = []
    for word in re.split(r"[\s/]+", plain):
        word = word.strip(".")
        if word:
            found += (known.get(word) or known.get(_single(word)) or word).split()
    return tuple(sorted(_single(word) for word in found))


def _single(word: str) -> str:
    return word[:-1] if len(word) > 3 and word.endswith("s") and not word.endswith("ss") else word


def _key(tokens: Iterable[str]) -> tuple[str, ...]:
    """Words without those that tell nothing apart."""
    return tuple(sorted({word for word in tokens if word not in _IGNORED}))


class Names:
    """Every name of every part and work."""

    def __init__(self, knowledge: Knowledge):
        self.words = asked().words
        self.exact: dict[tuple[str, ...], set[str]] = {}
        self.all: list[tuple[str, tuple[str, ...]]] = []
        others = asked().also
        for table, entries in (("parts", knowledge.parts), ("machine", knowledge.machining)):
            for name, entry in entries.items():
                title = entry.title
                for text in (name, title, title.split(",")[0], title.split("(")[0], *others.get(name, ())):
                    key = _key(tokens_of(text, self.words))
                    if key:
                        self.exact.setdefault(key, set()).add(f"{table}.{name}")
                        self.all.append((f"{table}.{name}", key))

    def match(self, text: str) -> tuple[Kind, tuple[str, ...], str]:
        """(kind, places, why) of one name."""
        tokens = tokens_of(text, self.words)
        key, bare = _key(tokens), _key(word for word in tokens if not _SIZE.search(word))
        places = sorted(self.exact.get(key, ()))
        if len(places) == 1:
            return "exact", tuple(places), ""
        if places:
            return "near", tuple(places[:CANDIDATES]), "may be either"
        places = sorted(self.exact.get(bare, ()))
        if places:
            return "near", tuple(places[:CANDIDATES]), "but for a size or number"
        likeness: dict[str, float] = {}
        for place, other in self.all:
            likeness[place] = max(likeness.get(place, 0.0), _likeness(bare, other))
        best = sorted(
            (place for place, score in likeness.items() if score >= NEAR),
            key=lambda place: (-round(likeness[place], 9), place),
        )[:CANDIDATES]
        return ("near", tuple(best), "like it") if best else ("none", (), "nothing like it in the rule base")


def _likeness(some: tuple[str, ...], other: tuple[str, ...]) -> float:
    """From 0 to 1: how many words of each have their like in the other."""
    if not some or not other:
        return 0.0
    best = {word: max(_alike(word, name) for name in other) for word in some}
    back = {name: max(_alike(word, name) for word in some) for name in other}
    return (sum(best.values()) + sum(back.values())) / (len(some) + len(other))


def _alike(one: str, other: str) -> float:
    if one == other:
        return 1.0
    if min(len(one), len(other)) >= 3 and (one.startswith(other) or other.startswith(one)):
        return 0.85
    if abs(len(one) - len(other)) > 3:
        return 0.0
    ratio = SequenceMatcher(None, one, other, autojunk=False).ratio()
    return ratio if ratio >= 0.75 else 0.0


def matched(knowledge: Knowledge, rows: Iterable[Row], prices: PriceList, engine: str = "") -> tuple[Match, ...]:
    """Every row with what it is taken for. Rows that fit one place with different prices are all refused."""
    names = Names(knowledge)
    result = []
    for row in rows:
        kind, places, why = names.match(row.part)
        if engine:
            places = tuple(
                f"engine_parts.{engine}.{place.removeprefix('parts.')}"
                for place in places
                if place.startswith("parts.")
            )
            if not places and kind != "none":
                kind, why = "refused", "a work of the machine shop has one price for every engine"
        if row.price is None:
            kind, why = "refused", row.why or "no price"
        before = figure_at(prices, places[0]) if places else ""
        far = _far(prices, places[0], row.price) if kind in ("exact", "near") else ""
        if far:
            kind, why = "near", far
        result.append(
            Match(row, kind, places, why, "" if not places or prices.mark(places[0]).example else before, bool(far))
        )
    return _without_quarrels(result)


def _without_quarrels(matches: list[Match]) -> tuple[Match, ...]:
    told: dict[str, set[Decimal]] = {}
    for match in matches:
        if match.kind == "exact" and match.row.price is not None:
            told.setdefault(match.places[0], set()).add(match.row.price)
    return tuple(
        Match(match.row, "refused", match.places, "two rows give it different prices", match.before)
        if match.kind == "exact" and len(told[match.places[0]]) > 1
        else match
        for match in matches
    )


def _far(prices: PriceList, place: str, price: Decimal | None) -> str:
    """Why a price is asked about: far from what stands there or stands in; empty where it is not."""
    text = figure_at(prices, place) or figure_at(weighing(prices), place)
    if not text or price is None:
        return ""
    known = read_money(text, prices.currency)
    if known and not known / FAR < price < known * FAR:
        where = "that stands there" if figure_at(prices, place) else "of the example list"
        return f"far from the {known} {where}: a slip of the comma?"
    return ""
