"""Sources: every statement says where it comes from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from ..errors import nearest
from .base import Check, Complaint
from .subject import Subject

_ASKED_FOR = ("observations",)


class NoWhere(Check):
    """A published source without the place in it.

    Why it matters: nobody can look up a statement in a book of four hundred pages; "published" is then only a word.
    What to do: write the paragraph, table or page (where).
    Bad: {standing: published, of: tm-9-8000}.
    Good: {standing: published, of: tm-9-8000, where: "para 4-40"}.
    """

    code, severity = "published-without-where", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        for index, source in enumerate(getattr(entry, "source", ())):
            if source.standing == "published" and not source.where.strip():
                yield Complaint(
                    f"{kind}/{name}",
                    f"names '{source.of}' without saying where in it",
                    "write the paragraph, table or page",
                    ("source", index),
                )


class UnknownSource(Check):
    """A statement that is not published points to a work that is not in the register.

    Why it matters: the loader refuses this only for published statements; elsewhere the pointer leads nowhere.
    What to do: add the work to rules/sources, or take the pointer out.
    Bad: {standing: common practice, of: some-handbook} with no such entry.
    Good: {standing: common practice}.
    """

    code, severity = "unknown-source", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        known = subject.knowledge.sources
        for index, source in enumerate(getattr(entry, "source", ())):
            if source.of and source.of not in known:
                yield Complaint(
                    f"{kind}/{name}",
                    f"there is no source '{source.of}' in the register",
                    nearest(source.of, known) or "add it to rules/sources",
                    ("source", index, "of"),
                )


class NoSource(Check):
    """An entry does not say where it comes from.

    Why it matters: the reader cannot tell a published figure from somebody's memory.
    What to do: write source with a standing: published, common practice, memory or judgement.
    Bad: source: [].
    Good: source: [{standing: common practice}].
    """

    code, severity = "no-source", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if hasattr(entry, "source") and not entry.source:
            talk = kind in _ASKED_FOR and entry.moment == "talk"  # a plain question needs no authority
            if not talk:
                yield Complaint(
                    f"{kind}/{name}",
                    "does not say where it comes from",
                    "write source with a standing",
                    ("source",),
                    "warning" if kind in _ASKED_FOR else None,
                )


class SourceTwice(Check):
    """One source stands twice in one entry, or two entries of the register are the same work.

    Why it matters: statements are counted by standing and works by number; a double makes the rule base look better
    founded than it is.
    What to do: join them, with both places in `where`.
    Bad: two entries of the register with one number.
    Good: one entry.
    """

    code, severity = "source-twice", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        sources = getattr(entry, "source", ())
        for index, source in enumerate(sources):
            if source in sources[:index]:
                yield Complaint(
                    f"{kind}/{name}",
                    f"names the same source twice ({source.of or source.standing})",
                    "name it once",
                    ("source", index),
                )

    def finalize(self, subject: Subject) -> Iterator[Complaint]:
        seen: dict[tuple[str, ...], str] = {}
        for name, work in subject.knowledge.sources.items():
            mark = (
                ("number", work.number.lower())
                if work.number
                else ("title", work.title.lower(), work.author.lower(), work.year)
            )
            if mark in seen:
                yield Complaint(
                    f"sources/{name}",
                    f"is the same work as '{seen[mark]}'",
                    "join them",
                    also=(f"sources/{seen[mark]}",),
                )
            seen.setdefault(mark, name)
