"""One field of a sheet under check: taken as the sheet writes it, as people write it, or faulted."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from ..errors import Fault, listed, nearest
from ..files.plain_yaml import dump_inline
from ..files.strict_yaml import Document
from ..model.engine import Fit, Torque
from ..model.sheet_form import SheetField, SheetForm
from ..quantity import DIMENSION, QuantityError
from ..quantity import parse as parse_quantity
from .printed import Unreadable, not_a_word, printed
from .printed_spans import UnitWanted
from .printed_units import OFFERED
from .tightening import said as torque_said
from .words import word_of

_PARTS = {"low": "the low figure of new", "high": "the high figure of new", "wear": "the limit"}


@dataclass(frozen=True, slots=True)
class Understood:
    """Something that was read as people write it, and how the sheet writes it."""

    fault: Fault
    path: tuple[str | int, ...]
    value: Any


@dataclass(slots=True)
class Walk:
    """The sheet while it is gone through."""

    document: Document
    form: SheetForm
    plain: dict[str, Any]
    """What is sound so far, as the sheet writes it."""
    faults: list[Fault] = field(default_factory=list)
    understood: list[Understood] = field(default_factory=list)

    def fault(self, path: tuple, message: str, hint: str = "", *, at_key: bool = False) -> None:
        self.faults.append(self.document.fault(path, message, hint, at_key=at_key))

    def take(self, path: tuple, value: Any, raw: Any) -> None:
        """A sound value; told where it is written otherwise than the sheet writes it."""
        if value != raw or isinstance(value, bool) != isinstance(raw, bool):
            self.understood.append(
                Understood(
                    self.document.fault(
                        path, f"{dotted(path)}: {as_written(raw)} is understood as {as_written(value)}"
                    ),
                    path,
                    value,
                )
            )
        here = self.plain
        for part in path[:-1]:
            here = here.setdefault(part, {})
        here[path[-1]] = value


def raw_at(walk: Walk, path: tuple) -> Any:
    here: Any = walk.document.value
    for part in path:
        here = here.get(part) if isinstance(here, dict) else None
    return here


def one_field(walk: Walk, path: tuple, form: SheetField | None) -> None:
    """One field of the form: taken as the sheet writes it, as people write it, or faulted."""
    raw = raw_at(walk, path)
    if form is None or raw is None or raw == "" or raw == {} or raw == []:
        return
    if form.kind == "band" and isinstance(raw, dict):
        _fit(walk, path, form, raw)
    elif form.kind == "torque" and isinstance(raw, dict):
        _torque(walk, path, form, raw)
    elif form.kind in ("sizes", "order") and isinstance(raw, list):
        _list(walk, path, form, raw)
    elif form.kind in ("ratio", "hours") and isinstance(raw, (int, float)) and not isinstance(raw, bool):
        walk.take(path, raw, raw)
    elif form.kind in ("word", "yes_no"):
        _word(walk, path, form, raw)
    elif isinstance(raw, (dict, list)):
        walk.fault(
            path,
            f"{dotted(path)} holds {as_written(raw)}, and one figure is wanted: {purpose_of(form)}",
            f"such as {form.like}",
        )
    else:
        _typed(walk, path, form, raw)


def _word(walk: Walk, path: tuple, form: SheetField, raw: Any) -> None:
    word = word_of(raw, form) if not isinstance(raw, (dict, list)) else None
    if word is None:
        walk.fault(path, f"{dotted(path)}: {not_a_word(str(raw), form)}", purpose_of(form))
        return
    walk.take(path, word, raw)


def _typed(walk: Walk, path: tuple, form: SheetField, raw: Any) -> None:
    """A figure or a line as a manual prints it."""
    if form.kind == "figure" and isinstance(raw, str) and is_quantity(raw, form.unit):
        walk.take(path, raw, raw)
        return
    if form.kind == "money" and isinstance(raw, str) and raw.replace(".", "", 1).isdigit():
        walk.take(path, raw, raw)
        return
    if form.kind == "count" and isinstance(raw, int) and not isinstance(raw, bool):
        if form.least <= raw <= form.most:
            walk.take(path, raw, raw)
        else:
            walk.fault(path, f"{dotted(path)} is {raw}; {form.least} to {form.most} are known", purpose_of(form))
        return
    try:
        made = printed(str(raw), ".".join(map(str, path)), form, {})
    except UnitWanted as wanted:
        offered = listed(OFFERED[wanted.dimension])
        walk.fault(
            path,
            f"{dotted(path)} is {as_written(raw)} and says no unit: {offered}?",
            f"such as '{raw} {form.unit}'; {purpose_of(form)}",
        )
        return
    except Unreadable as error:
        walk.fault(path, f"{dotted(path)}: {error}", f"{purpose_of(form)}; such as {form.like}")
        return
    walk.take(path, made.value, raw)
    for name, value in made.others.items():
        if not raw_at(walk, tuple(name.split("."))):
            walk.take(tuple(name.split(".")), value, None)


def _fit(walk: Walk, path: tuple, form: SheetField, raw: Mapping[str, Any]) -> None:
    known = [item.name for item in dataclasses.fields(Fit)]
    for key in raw:
        if key not in known:
            meant = {
                "min": "low",
                "minimum": "low",
                "max": "high",
                "maximum": "high",
                "limit": "wear",
                "least": "low",
                "most": "high",
                "worn": "wear",
                "service": "wear",
                "upper": "high",
                "lower": "low",
            }.get(str(key).lower())
            walk.fault(
                (*path, key),
                f"'{key}' stands under {dotted(path)}, which has low, high and wear",
                f"did you mean {meant}?" if meant else f"{purpose_of(form)}; low and high are new, wear is the limit",
                at_key=True,
            )
    kept: dict[str, Any] = {}
    for part in ("low", "high", "wear"):
        text = raw.get(part)
        if text in (None, ""):
            continue
        if isinstance(text, (dict, list)):
            walk.fault(
                (*path, part),
                f"{dotted((*path, part))} holds {as_written(text)}, and one figure is wanted",
                _PARTS[part],
            )
        elif isinstance(text, str) and is_quantity(text, form.unit):
            kept[part] = text
        else:
            _part(walk, (*path, part), form, text, kept, part)
    if kept or raw.get("source"):
        here = walk.plain
        for name in path[:-1]:
            here = here.setdefault(name, {})
        here[path[-1]] = {**kept, **({"source": raw["source"]} if raw.get("source") else {})}


def _part(walk: Walk, path: tuple, form: SheetField, raw: Any, kept: dict[str, Any], part: str) -> None:
    single = dataclasses.replace(form, kind="figure", pick="least" if part == "low" else "most", at="", state="")
    try:
        made = printed(str(raw), ".".join(map(str, path)), single, {})
    except UnitWanted as wanted:
        walk.fault(
            path,
            f"{dotted(path)} is {as_written(raw)} and says no unit: {listed(OFFERED[wanted.dimension])}?",
            f"such as '{raw} {form.unit}'; {_PARTS[part]}",
        )
        return
    except Unreadable as error:
        walk.fault(
            path,
            f"{dotted(path)}: {error}",
            f"{_PARTS[part]}; such as '0.013 {form.unit}'" if form.unit == "in" else _PARTS[part],
        )
        return
    kept[part] = made.value
    walk.understood.append(
        Understood(
            walk.document.fault(path, f"{dotted(path)}: {as_written(raw)} is understood as {as_written(made.value)}"),
            path,
            made.value,
        )
    )


def _torque(walk: Walk, path: tuple, form: SheetField, raw: Mapping[str, Any]) -> None:
    known = [item.name for item in dataclasses.fields(Torque)]
    for key in raw:
        if key not in known:
            walk.fault(
                (*path, key),
                f"'{key}' says nothing of a tightening",
                nearest(str(key), known) or f"it has {', '.join(known)}",
                at_key=True,
            )
    kept = {
        key: item
        for key, item in raw.items()
        if key in known and key not in ("value", "least", "stages", "lubricated") and item is not None
    }
    if isinstance(kept.get("count"), str) and kept["count"].isdigit():
        kept["count"] = int(kept["count"])
    for key in ("size", "grade"):
        if key in kept:
            kept[key] = str(kept[key])
    if raw.get("lubricated") not in (None, ""):
        word = {"yes": "yes", "no": "no", "oiled": "yes", "dry": "no", "true": "yes", "false": "no"}.get(
            str(raw["lubricated"]).lower()
        )
        if word is None:
            walk.fault(
                (*path, "lubricated"),
                f"{dotted(path)}.lubricated: '{raw['lubricated']}' is none of: yes, no",
                "whether the thread is oiled",
            )
        else:
            kept["lubricated"] = word
            if word != raw["lubricated"]:
                walk.understood.append(
                    Understood(
                        walk.document.fault(
                            (*path, "lubricated"),
                            f"{dotted(path)}.lubricated: {as_written(raw['lubricated'])} is understood as {word}",
                        ),
                        (*path, "lubricated"),
                        word,
                    )
                )
    stages = raw.get("stages") or []
    parts = [("value", raw.get("value")), ("least", raw.get("least"))]
    parts += [(("stages", index), item) for index, item in enumerate(stages if isinstance(stages, list) else [])]
    if stages and not isinstance(stages, list):
        walk.fault(
            (*path, "stages"),
            f"{dotted(path)}.stages holds {as_written(stages)}; stages stand in a row",
            "[25 ft-lb, 45 ft-lb, 65 ft-lb]",
        )
    if raw.get("value") in (None, ""):
        walk.fault(path, f"{dotted(path)} has no value: {purpose_of(form)}", "value: 65 ft-lb")
        return
    for name, item in parts:
        if item in (None, ""):
            continue
        here = (*path, *name) if isinstance(name, tuple) else (*path, name)
        before = len(walk.faults)
        made = _quantity(walk, here, form, item)
        if len(walk.faults) > before or made is None:
            if name == "value":
                return
            continue
        if isinstance(name, tuple):
            kept.setdefault("stages", []).append(made["value"])
        else:
            kept |= (
                {key: word for key, word in made.items() if name == "value" or key == "value"}
                if name == "value"
                else {name: made["value"]}
            )
    walk.plain.setdefault("torques", {})[path[-1]] = kept


def _quantity(walk: Walk, path: tuple, form: SheetField, raw: Any) -> dict[str, Any] | None:
    """One figure of a tightening; told where it is written otherwise than the sheet writes it."""
    if isinstance(raw, str) and is_quantity(raw, form.unit):
        return {"value": raw}
    if isinstance(raw, (dict, list)):
        walk.fault(path, f"{dotted(path)} holds {as_written(raw)}, and one figure is wanted", "such as 65 ft-lb")
        return None
    try:
        made = printed(str(raw), ".".join(map(str, path)), form, {})
    except UnitWanted:
        walk.fault(
            path,
            f"{dotted(path)} is {as_written(raw)} and says no unit: {listed(OFFERED['torque'])}?",
            f"such as '{raw} ft-lb'",
        )
        return None
    except Unreadable as error:
        walk.fault(path, f"{dotted(path)}: {error}", "such as 65 ft-lb")
        return None
    for key, value in made.value.items():
        where = path if key == "value" else (*path[:-1], key)
        walk.understood.append(
            Understood(
                walk.document.fault(
                    path, f"{dotted(where)}: {as_written(raw)} is understood as {torque_said(made.value)}"
                ),
                where,
                value,
            )
        )
    return made.value


def _list(walk: Walk, path: tuple, form: SheetField, raw: Sequence[Any]) -> None:
    kept = []
    for index, item in enumerate(raw):
        here = (*path, index)
        if form.kind == "order":
            if isinstance(item, int) and not isinstance(item, bool):
                kept.append(item)
            elif str(item).isdigit():
                kept.append(int(item))
                walk.understood.append(
                    Understood(
                        walk.document.fault(here, f"{dotted(here)}: {as_written(item)} is understood as {item}"),
                        here,
                        int(item),
                    )
                )
            else:
                walk.fault(here, f"{dotted(path)}: '{item}' is no number of a cylinder", f"such as {form.like}")
        elif isinstance(item, str) and is_quantity(item, form.unit):
            kept.append(item)
        else:
            single = dataclasses.replace(form, kind="figure", pick="most")
            try:
                made = printed(str(item), ".".join(map(str, here)), single, {})
            except UnitWanted:
                walk.fault(
                    here,
                    f"{dotted(path)}: {as_written(item)} says no unit: {listed(OFFERED[DIMENSION[form.unit]])}?",
                    f"such as '{item} {form.unit}'",
                )
                continue
            except Unreadable as error:
                walk.fault(here, f"{dotted(path)}: {error}", f"such as {form.like}")
                continue
            kept.append(made.value)
            walk.understood.append(
                Understood(
                    walk.document.fault(here, f"{dotted(path)}: {as_written(item)} is understood as {made.value}"),
                    here,
                    made.value,
                )
            )
    here = walk.plain
    for part in path[:-1]:
        here = here.setdefault(part, {})
    if kept:
        here[path[-1]] = kept


def purpose_of(form: SheetField | None) -> str:
    return f"{form.purpose[0].lower()}{form.purpose[1:].rstrip('.')}" if form else ""


def is_quantity(text: str, unit: str) -> bool:
    try:
        parse_quantity(text, unit=unit)
    except QuantityError:
        return False
    return True


def dotted(path: Sequence[str | int]) -> str:
    return ".".join(map(str, path))


def as_written(raw: Any) -> str:
    """A value as it was written, short."""
    text = (
        dump_inline(raw)
        if isinstance(raw, (dict, list, bool)) or raw is None
        else f"'{raw}'"
        if isinstance(raw, str)
        else f"{raw}"
    )
    return text if len(text) <= 80 else f"{text[:77]}..."
