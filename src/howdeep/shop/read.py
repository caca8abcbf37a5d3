"""shop.yaml beside the jobs: found, read strictly, and refused with every fault at once."""

from __future__ import annotations

import os
import re
from pathlib import Path

from ..errors import Fault, HowdeepError, nearest
from ..files.strict_yaml import Document, parse, read
from ..files.what_file import another_file
from ..knowledge.validate import typed
from ..model.knowledge import Knowledge
from ..model.quantity import QuantityError
from ..model.quantity import parse as parse_quantity
from ..model.shop import ShopSettings
from .keys import MOST_NUMBER

NAME = "shop.yaml"
"""The file's name in a folder of jobs."""
UNITS = ("", "inch", "metric")
PRINTED = 280
"""Letters of the shop's guarantee and of its terms, each, that a page has room for."""
_PREFIX = re.compile(r"[A-Za-z0-9./-]{0,12}")
HIGHEST, LOWEST = 20_000.0, -1_500.0
"""Altitudes in feet beyond which no shop stands."""


def find_shop(folder: str | Path | None = None) -> Path | None:
    """The settings to use: HOWDEEP_SHOP, else shop.yaml in the folder; None where there is neither."""
    named = os.environ.get("HOWDEEP_SHOP") or None
    if named is not None:
        return Path(named)
    if folder is not None and os.path.lexists(Path(folder) / NAME):  # a broken link is a fault, not a lack
        return Path(folder) / NAME
    return None


def load_shop(path: str | Path | None, knowledge: Knowledge) -> ShopSettings:
    """Read the settings against the rule base; without a file, those of a shop that says nothing.

    Raises HowdeepError with all faults, each at its line.
    """
    return ShopSettings() if path is None else _checked(read(path), knowledge)


def check_text(text: str, file: str, knowledge: Knowledge) -> ShopSettings:
    """The settings that a text holds, which is to be saved under a name. Raises HowdeepError with all faults."""
    return _checked(parse(text, file), knowledge)


def _checked(document: Document, knowledge: Knowledge) -> ShopSettings:
    if other := another_file(document, "shop"):
        raise HowdeepError(other)
    faults: list[Fault] = []
    plain = document.value
    if not isinstance(plain, dict) or "howdeep_shop" not in plain:
        raise HowdeepError(document.fault((), "does not begin with 'howdeep_shop: 1'", "'howdeep shop' writes one"))
    checked = dict(plain)
    if checked.get("units", "") not in UNITS:
        faults.append(
            document.fault(
                ("units",),
                f"'{checked['units']}' are no units that figures are shown in",
                "write inch or metric, or leave the line out",
            )
        )
        del checked["units"]
    letterhead = plain.get("letterhead")
    if isinstance(letterhead, dict) and letterhead.get("name") in (None, ""):
        faults.append(
            document.fault(
                ("letterhead",),
                "the letterhead lacks the name of the shop",
                "begin it with a name: name: Hill Farm Engines",
            )
        )
        checked["letterhead"] = {**letterhead, "name": "-"}
    settings = typed(document, (), checked, ShopSettings, faults)
    tools = plain.get("tools")
    for name in tools if isinstance(tools, dict) else ():
        if name not in knowledge.tools:
            faults.append(
                document.fault(
                    ("tools", name),
                    f"there is no tool '{name}' in the rule base",
                    nearest(name, knowledge.tools) or f"known: {', '.join(knowledge.tools)}",
                    at_key=True,
                )
            )
    altitude = plain.get("altitude")
    if isinstance(altitude, (str, int, float)) and not isinstance(altitude, bool) and altitude != "":
        try:
            feet = parse_quantity(altitude, unit="ft").to("ft")
            if not LOWEST <= feet <= HIGHEST:
                raise QuantityError(f"'{altitude}' is no altitude at which a shop stands")
        except QuantityError as error:
            faults.append(document.fault(("altitude",), str(error)))
    for name in ("guarantee", "terms"):
        text = plain.get(name)
        if isinstance(text, str) and len(text) > PRINTED:
            faults.append(
                document.fault(
                    (name,),
                    f"{len(text)} letters do not fit on an estimate of one page",
                    f"keep it to {PRINTED}; print longer ones on the back and say so here",
                )
            )
    for name in ("promise_floor", "firm_floor") if settings is not None else ():
        value = getattr(settings, name)
        if value is not None and not 0 <= value <= 1:
            faults.append(document.fault((name,), f"'{value:g}' is not a chance from 0 to 1", "0.7 is seven in ten"))
    if settings is not None and settings.next_number is not None and not 1 <= settings.next_number <= MOST_NUMBER:
        faults.append(
            document.fault(
                ("next_number",), f"'{settings.next_number}' is no number to go on from", "a whole number such as 1001"
            )
        )
    if settings is not None and not _PREFIX.fullmatch(settings.number_prefix):
        faults.append(
            document.fault(
                ("number_prefix",),
                f"'{settings.number_prefix[:40]}' cannot stand before numbers",
                "at most 12 letters, digits, -, / or full stops, such as E-",
            )
        )
    if faults or settings is None:
        raise HowdeepError(faults)
    return settings
