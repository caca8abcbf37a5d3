"""shop.yaml begun and changed: one whole write a change, comments and layout of the rest kept."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from ..errors import Fault, HowdeepError
from ..files.edit_yaml import edited
from ..files.plain_yaml import dump
from ..files.strict_yaml import read
from ..files.whole import locked, write_whole
from ..model.knowledge import Knowledge
from ..model.shop import SHOP_FORMAT, ShopSettings
from .keys import OWN
from .read import check_text, load_shop

_ORDER = ("howdeep_shop", "letterhead", *OWN, "tools")
HEAD = """\
# This shop, said once and used everywhere by howdeep. 'howdeep shop' asks, 'howdeep shop show' shows, or write here.
# tools: a tool that is 'no' takes the checks that need it from what is offered.
"""


def put_settings(path: Path, knowledge: Knowledge, changes: Mapping[str, Any]) -> ShopSettings:
    """Put plain values of fields into the settings ('letterhead.name' and 'tools.vacuum_gauge' go one level down; None
    takes one out); the file is begun where there is none.

    The new text is checked before it is written. Raises HowdeepError with every fault; nothing is then saved.
    """
    path = Path(path)
    with locked(path):
        new = not path.exists()
        document = None if new else read(path)
        if document is not None:
            load_shop(path, knowledge)
        before = {"howdeep_shop": SHOP_FORMAT} if document is None else document.value
        after = _changed(before, changes)
        text = (
            HEAD + dump({key: after[key] for key in _ORDER if key in after})
            if document is None
            else edited(document.text, before, after, _ORDER)
        )
        _refuse_given(before, after)
        settings = check_text(text, str(path), knowledge)
        write_whole(path, text.encode(), force=not new, digest=document.digest if document else "")
    return settings


def _refuse_given(before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    """Raises HowdeepError where numbers would be given a second time."""
    stands, wanted = before.get("next_number"), after.get("next_number")
    same = before.get("number_prefix", "") == after.get("number_prefix", "")
    if isinstance(stands, int) and isinstance(wanted, int) and wanted < stands and same:
        raise HowdeepError(
            Fault(
                "",
                0,
                0,
                f"the next number is {stands}; those before it may have been given already",
                "go on from a higher one, or set another number_prefix first",
            )
        )


def _changed(plain: Mapping[str, Any], changes: Mapping[str, Any]) -> dict[str, Any]:
    after = dict(plain)
    for place, value in changes.items():
        first, _, name = place.partition(".")
        if not name:
            after[first] = value
        else:
            inner = after.get(first)
            after[first] = {**(inner if isinstance(inner, dict) else {}), name: value}
            after[first] = {key: item for key, item in after[first].items() if item not in (None, "")}
    return {key: value for key, value in after.items() if value not in (None, "", {})}
