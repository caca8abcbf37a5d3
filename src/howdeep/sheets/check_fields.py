"""One field of a sheet under check: taken as the sheet writes it, as people write it, or faulted."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from typing import Any

from ..errors import nearest
from ..files.strict_yaml import Path_
from ..model.engine import Fit, Torque
from ..model.sheet_form import SheetField
from .check_found import Walk, as_written, dotted, is_quantity, purpose_of, raw_at
from .printed import not_a_word
from .tightening import said as torque_said
from .words import word_of

_PARTS = {"low": "the low figure of new", "high": "the high figure of new", "wear": "the limit"}


def one_field(walk: Walk, path: Path_, form: SheetField | None) -> None:
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


def _word(walk: Walk, path: Path_, form: SheetField, raw: Any) -> None:
    word = word_of(raw, form) if not isinstance(raw, (dict, list)) else None
    if word is None:
        walk.fault(path, f"{dotted(path)}: {not_a_word(str(raw), form)}", purpose_of(form))
        return
    walk.take(path, word, raw)


def _typed(walk: Walk, path: Path_, form: SheetField, raw: Any) -> None:
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
    made = walk.read(path, form, raw, purpose_of(form), form.like)
    if made is None:
        return
    walk.take(path, made.value, raw)
    for name, value in made.others.items():
        if not raw_at(walk, tuple(name.split("."))):
            walk.take(tuple(name.split(".")), value, None)


def _fit(walk: Walk, path: Path_, form: SheetField, raw: Mapping[str, Any]) -> None:
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
            here = (*path, part)
            single = dataclasses.replace(
                form, kind="figure", pick="least" if part == "low" else "most", at="", state=""
            )
            made = walk.read(here, single, text, _PARTS[part], "'0.013 in'" if form.unit == "in" else "")
            if made is not None:
                kept[part] = made.value
                walk.tell(here, text, made.value, as_written(made.value))
    if kept or raw.get("source"):
        walk.put(path, {**kept, **({"source": raw["source"]} if raw.get("source") else {})})


def _torque(walk: Walk, path: Path_, form: SheetField, raw: Mapping[str, Any]) -> None:
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
                walk.tell((*path, "lubricated"), raw["lubricated"], word, word)
    stages = raw.get("stages") or []
    parts: list[tuple[tuple[str | int, ...], Any]] = [(("value",), raw.get("value")), (("least",), raw.get("least"))]
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
    for place, item in parts:
        if item in (None, ""):
            continue
        name = place[0]
        made = _quantity(walk, (*path, *place), form, item)
        if made is None and name == "value":
            return
        if made is None:
            continue
        if name == "stages":
            kept.setdefault("stages", []).append(made["value"])
        else:
            kept |= made if name == "value" else {"least": made["value"]}
    walk.put(path, kept)


def _quantity(walk: Walk, path: Path_, form: SheetField, raw: Any) -> dict[str, Any] | None:
    """One figure of a tightening; told where it is written otherwise than the sheet writes it."""
    if isinstance(raw, str) and is_quantity(raw, form.unit):
        return {"value": raw}
    if isinstance(raw, (dict, list)):
        walk.fault(path, f"{dotted(path)} holds {as_written(raw)}, and one figure is wanted", "such as 65 ft-lb")
        return None
    made = walk.read(path, form, raw, like="65 ft-lb")
    if made is None:
        return None
    for key, value in made.value.items():
        where = path if key == "value" else (*path[:-1], key)
        walk.tell(where, raw, value, torque_said(made.value), at=path)
    figures: dict[str, Any] = made.value
    return figures


def _list(walk: Walk, path: Path_, form: SheetField, raw: Sequence[Any]) -> None:
    kept: list[int | str] = []
    for index, item in enumerate(raw):
        here = (*path, index)
        if form.kind == "order":
            if isinstance(item, int) and not isinstance(item, bool):
                kept.append(item)
            elif str(item).isdigit():
                kept.append(int(item))
                walk.tell(here, item, int(item), str(item))
            else:
                walk.fault(here, f"{dotted(path)}: '{item}' is no number of a cylinder", f"such as {form.like}")
        elif isinstance(item, str) and is_quantity(item, form.unit):
            kept.append(item)
        else:
            made = walk.read(here, dataclasses.replace(form, kind="figure", pick="most"), item, like=form.like)
            if made is not None:
                kept.append(made.value)
                walk.tell(here, item, made.value, made.value)
    if kept:
        walk.put(path, kept)
