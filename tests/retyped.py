"""Held engine sheets typed anew through the form of a sheet, and the answers of cases on both; shared by a test and a
bench."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from howdeep.assessment.session import Shop
from howdeep.files.strict_yaml import read
from howdeep.job.read import read_job
from howdeep.knowledge.engines import Sheet, find, load_sheet
from howdeep.sheets.by_group import as_typed, fill_group, text_at
from howdeep.sheets.draft import Draft, open_draft, saved, value_at, with_values
from howdeep.shop.use import placed
from howdeep.show.as_json import assessment_json

NOT_IN_THE_FORM = ("source", "sure", "assumed", "howdeep_engine")
"""What a sheet may say besides what a form asks for: no figure and no word of the engine."""


def retyped(name: str, folder: Path, folders: Sequence[Path]) -> Path:
    """A held sheet typed into a new one, group by group, every figure and word as a person would type it; returns the
    new file. Raises AssertionError where something cannot be typed."""
    held = read(find(name, folders)).value
    path = folder / "engines" / f"{name}.yaml"

    def opened() -> Draft:
        return open_draft(path, held["name"], folders)

    draft = opened()
    saved(draft, with_values(draft, {}))
    groups = list(draft.form.groups.items())
    for name_of_group, group in [*groups, *groups]:  # a field may be asked only after a word of a later group
        form = {}
        for at, field in group.fields.items():
            here = value_at(held, at)
            if here is not None:
                form |= {at: as_typed(here, field), f"was.{at}": text_at(opened(), at), f"sure.{at}": "1"}
        back = fill_group(opened, name_of_group, form).back
        assert not back, (name, {at: item.lines for at, item in back.items()})
    asked = {at for _, group in groups for at in group.fields}
    rest = {at: hours for work, hours in held.get("hours", {}).items() if (at := f"hours.{work}") not in asked}
    saved(opened(), with_values(opened(), rest))  # the form asks for the commonest hours; a sheet may hold more
    return path


def answers(shop: Shop, case: Path, sheet: Sheet, *, checks: bool = True) -> tuple[str, tuple]:
    """(the documented JSON, the figures of the assembly sheet) of a case on a sheet."""
    from howdeep.quote.sheets import sheets_of

    engine = dataclasses.replace(sheet.engine, assumed=())  # what nobody has looked up is told and moves nothing
    job = placed(read_job(case, shop.knowledge, shop.folders, engine=engine), shop.settings)
    answer = shop.assess(job, checks=checks, flips=False)
    return assessment_json(shop.knowledge, answer), sheets_of(shop.knowledge, answer, answer.decision.job, "")


def held_of(case: Path) -> str:
    """The sheet that a case names; empty where its engine has none."""
    told: Any = read(case).value.get("engine")
    return told if isinstance(told, str) and told != "unknown" else ""


def difference(one: tuple[str, object], other: tuple[str, object]) -> str:
    """Where two answers part; empty where every byte is the same."""
    if one == other:
        return ""
    if one[0] == other[0]:
        return "the assembly sheet"
    first, second = json.loads(one[0]), json.loads(other[0])
    return ", ".join(key for key in first if first[key] != second.get(key)) or "keys"


def figures_lost(name: str, path: Path, folders: Sequence[Path]) -> list[str]:
    """Fields in which the typed sheet is not the held one, of all that an engine has."""
    one, other = load_sheet(find(name, folders)).engine, load_sheet(path).engine
    return [
        field.name
        for field in dataclasses.fields(one)
        if field.name not in NOT_IN_THE_FORM and getattr(one, field.name) != getattr(other, field.name)
    ]
