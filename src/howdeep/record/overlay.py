"""A proposed change as files for the shop's own rule folder, readable and revisable."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from ..files.plain_yaml import dump
from ..files.strict_yaml import read
from ..files.whole import write_whole
from ..model.knowledge import Knowledge
from .learn import Lesson

_HEAD = (
    "# Proposed from the shop's own closed jobs. Read it, change what you do not believe, then lay this folder over\n"
    "# the shipped rules with --rules or HOWDEEP_RULES. Nothing here is in force by itself.\n"
)


def overlay_texts(knowledge: Knowledge, lessons: Sequence[Lesson]) -> dict[str, str]:
    """'findings.yaml' and 'causes.yaml' -> text, each entry whole, with a comment for every word that moves."""
    findings: dict[str, list[Lesson]] = {}
    causes: dict[str, list[Lesson]] = {}
    for lesson in lessons:
        (findings if lesson.kind == "link" else causes).setdefault(lesson.finding or lesson.cause, []).append(lesson)
    texts = {}
    for kind, changed in (("findings", findings), ("causes", causes)):
        parts = [_HEAD]
        for name in sorted(changed):
            plain = _plain_entry(knowledge, kind, name)
            for lesson in changed[name]:
                parts.append(
                    f"# {lesson.cause}: '{lesson.word}' -> '{lesson.proposed}'; {lesson.seen:.1f} of "
                    f"{lesson.jobs:.0f} jobs, {lesson.low:.2f} to {lesson.high:.2f}\n"
                )
                if kind == "findings":
                    plain["explained_by"] = {**plain["explained_by"], lesson.cause: lesson.proposed}
                else:
                    plain["base"] = lesson.proposed
            parts.append(dump({name: plain}))
        if changed:
            texts[f"{kind}.yaml"] = "".join(parts)
    return texts


def _plain_entry(knowledge: Knowledge, kind: str, name: str) -> dict[str, Any]:
    """The entry as it is written in its file now."""
    file, _, _ = knowledge.places[f"{kind}/{name}"]
    return dict(read(file).value[name])


def write_overlay(folder: Path, texts: dict[str, str], *, force: bool = False) -> list[Path]:
    """Write the files of an overlay; those that exist are not replaced without `force`."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, text in texts.items():
        write_whole(folder / name, text.encode(), force=force)
        written.append(folder / name)
    return written
