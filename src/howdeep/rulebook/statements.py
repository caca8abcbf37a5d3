"""Every statement of the rule base with its standing: published, common practice, memory or judgement."""

from __future__ import annotations

import typing

from ..knowledge.load import KINDS
from ..model.frozen import dataclass
from ..model.knowledge import Knowledge
from ..model.terms import Standing

STANDINGS: tuple[Standing, ...] = typing.get_args(Standing)


@dataclass(frozen=True, slots=True)
class Statement:
    """One entry and one thing it rests on."""

    key: str
    """'kind/id'."""
    title: str
    standing: Standing
    work: str
    """Id of the published work; empty where there is none."""
    where: str


def statements(knowledge: Knowledge) -> tuple[Statement, ...]:
    """One for every source of every entry, in order of kind, id and as written."""
    found = [
        Statement("settings/words", "Frequency words and constants", source.standing, source.of, source.where)
        for source in knowledge.settings.source
    ]
    for kind in KINDS:
        for name, entry in getattr(knowledge, kind).items():
            found += [
                Statement(f"{kind}/{name}", entry.title, source.standing, source.of, source.where)
                for source in getattr(entry, "source", ())
            ]
    return tuple(found)


def by_standing(found: tuple[Statement, ...]) -> dict[str, int]:
    """Standing -> how many statements."""
    return {standing: sum(item.standing == standing for item in found) for standing in STANDINGS}


def works_named(found: tuple[Statement, ...]) -> tuple[str, ...]:
    """Published works that statements name, in order of id."""
    return tuple(sorted({item.work for item in found if item.standing == "published" and item.work}))
