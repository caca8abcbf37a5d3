"""Explanation: what a rule says to a person (Clancey 1983)."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from .base import Check, Complaint
from .subject import Subject
from .words import FILLER, LITTLE, VERBS

LEAST_WORDS = 5
_NO_WORDS_OF_ITS_OWN = 0.85


def _words(text: str) -> list[str]:
    return re.findall(r"[a-z0-9'/-]+", text.lower())


def is_filler(text: str) -> bool:
    """Whether a text says nothing: empty, a stock word, or too short to explain anything."""
    words = _words(text)
    return len(words) < LEAST_WORDS or " ".join(words) in FILLER or all(word in FILLER for word in words)


def echoes(text: str, title: str) -> bool:
    """Whether a text has hardly a word that its title does not have."""
    own = [word for word in _words(text) if word not in LITTLE]
    told = {word for word in _words(title) if word not in LITTLE}
    return bool(own) and sum(word in told for word in own) / len(own) >= _NO_WORDS_OF_ITS_OWN


def is_claim(title: str) -> bool:
    """Whether a title can be true or false: a capital or a figure first, two words at least, and a verb."""
    words = _words(title)
    return (
        len(words) >= 2
        and not title.rstrip().endswith("?")
        and not title[:1].islower()
        and any(word in VERBS for word in words[1:])
    )


class ThinBecause(Check):
    """A reason is missing, or says nothing.

    Why it matters: an answer that cannot be explained is not believed, and should not be.
    What to do: say in one or two sentences, to a person, why the sign means what it means.
    Bad: because: "see above".
    Good: because: "Oil that gets past the rings burns when the engine is made to pull."
    """

    code, severity = "thin-because", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        text = getattr(entry, "because", None)
        if text is not None and is_filler(text) and (text or kind != "limits"):  # a limit's title often says it all
            yield Complaint(
                f"{kind}/{name}", f"because says nothing: '{text.strip()}'", "say why, in a sentence", ("because",)
            )


class EchoBecause(Check):
    """A reason only says the title again.

    Why it matters: it looks like an explanation and is none.
    What to do: say what happens in the engine, not what was seen.
    Bad: title "The plugs are oily", because "The plugs are oily."
    Good: because "Oil reaches the plug past rings or guides faster than it can burn off."
    """

    code, severity = "echo-because", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        text = getattr(entry, "because", None)
        if text is not None and not is_filler(text) and echoes(text, entry.title):
            yield Complaint(
                f"{kind}/{name}",
                f"because only says the title again: '{text.strip()}'",
                "say what happens in the engine",
                ("because",),
            )


class ThinFooledBy(Check):
    """What fools a rule is missing, or says nothing.

    Why it matters: every sign can be fooled; a rule that does not say by what teaches too much trust in it.
    What to do: name what else looks, sounds or measures the same.
    Bad: fooled_by: "nothing".
    Good: fooled_by: "An overfull oil-bath air cleaner smokes blue as well."
    """

    code, severity = "thin-fooled-by", "error"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        words = _words(entry.fooled_by) if kind == "findings" else []
        if kind == "findings" and (len(words) < 3 or " ".join(words) in FILLER):
            yield Complaint(
                f"findings/{name}",
                f"fooled_by says nothing: '{entry.fooled_by.strip()}'",
                "name what else looks the same",
                ("fooled_by",),
            )
        elif kind == "findings" and echoes(entry.fooled_by, entry.title):
            yield Complaint(
                f"findings/{name}",
                f"fooled_by only says the title again: '{entry.fooled_by.strip()}'",
                "name what else looks the same",
                ("fooled_by",),
                "warning",
            )


class NoClaim(Check):
    """The title of a rule is no claim.

    Why it matters: a rule is present or absent; only a sentence that can be true or false can be read that way.
    What to do: write a sentence with a verb.
    Bad: "Blue smoke".
    Good: "It smokes blue when it pulls".
    """

    code, severity = "no-claim", "warning"

    def validate(self, subject: Subject, kind: str, name: str, entry: Any) -> Iterator[Complaint]:
        if kind in ("findings", "history", "holds", "contradictions") and not is_claim(entry.title):
            yield Complaint(
                f"{kind}/{name}", f"the title '{entry.title}' is no claim", "write a sentence with a verb", ("title",)
            )
