"""Every fault of an engine sheet in one round, in a mechanic's words: missing, words, units and ranges together.

What was written as people write it ('ohv', '.013-.019, limit .040', '65-70 ft-lb') is understood; the sheet's own way
of writing it is named, and can be written into the file.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ..errors import Fault, listed, nearest
from ..files.edit_yaml import edited
from ..files.plain_yaml import dump_inline
from ..files.strict_yaml import Document, parse, read
from ..files.whole import write_whole
from ..knowledge.plausible import plausible_table
from ..knowledge.shapes import typed
from ..knowledge.sheet_form import sheet_form
from ..knowledge.sheet_guard import guard_sheet
from ..model.engine import Build, Engine, Fit, Journal, Torque
from ..model.sheet_form import SheetField, SheetForm
from ..quantity import DIMENSION, QuantityError
from ..quantity import parse as parse_quantity
from .draft import ORDER
from .layout import sheet_text
from .printed import Unreadable, not_a_word, printed
from .printed_spans import UnitWanted
from .printed_units import OFFERED
from .tightening import said as torque_said
from .usual import FIRING, usual_words
from .words import word_of

_OTHERS = {
    "note": "a few words on the engine",
    "source": "where the figures come from",
    "name": "what the engine is called",
    "fluids": "oil and coolant: grade and quantity",
    "sure": "figures that were questioned and are right, each with why",
    "assumed": "what nobody has looked up yet",
    "build": "how the engine is built",
    "crankpins": "crankpins and big ends",
    "mains": "main journals and bearings",
    "torques": "tightening figures",
    "hours": "hours of work on this engine",
}
_STANDINGS = ("published", "common practice", "memory", "judgement")
_PARTS = {"low": "the low figure of new", "high": "the high figure of new", "wear": "the limit"}


@dataclass(frozen=True, slots=True)
class Understood:
    """Something that was read as people write it, and how the sheet writes it."""

    fault: Fault
    path: tuple[str | int, ...]
    value: Any


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of a sheet found."""

    faults: tuple[Fault, ...]
    """What must be put right."""
    questions: tuple[Fault, ...]
    """What can hardly be, and may be right."""
    understood: tuple[Understood, ...]
    """What can be written the sheet's way by itself."""
    engine: Engine | None = None
    """The sheet where it can be used as it will stand."""
    assumed: tuple[str, ...] = ()
    """What the sheet itself says nobody has looked up."""

    @property
    def clean(self) -> bool:
        return not self.faults and not self.understood


@dataclass(slots=True)
class _Walk:
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
                    self.document.fault(path, f"{_dotted(path)}: {_shown(raw)} is understood as {_shown(value)}"),
                    path,
                    value,
                )
            )
        here = self.plain
        for part in path[:-1]:
            here = here.setdefault(part, {})
        here[path[-1]] = value


def check_file(path: str | Path, folders: Sequence[Path], operations: Collection[str] = ()) -> Checked:
    """Check the sheet in a file. `operations`: names of work that hours may be given for, where they are known.

    Raises HowdeepError where it is no YAML that can be read at all."""
    return check_document(read(path), sheet_form(folders), plausible_table(folders), operations)


def check_document(
    document: Document,
    form: SheetForm,
    table: Mapping[str, Any],
    operations: Collection[str] = (),
) -> Checked:
    """The same for a document that was read."""
    if not isinstance(document.value, dict):
        fault = document.fault(
            (),
            "this is no engine sheet: it holds no fields such as name, build, bore",
            "howdeep engine new NAME makes one",
        )
        return Checked((fault,), (), ())
    walk = _Walk(document, form, {})
    _walk(walk, operations)
    engine, refused, questions = _guarded(walk, table)
    faults = sorted({*walk.faults, *(_in_words(fault, form) for fault in refused)})
    understood = tuple(
        sorted(walk.understood, key=lambda item: (item.fault.line, item.fault.column, item.fault.message))
    )
    return Checked(
        tuple(faults),
        tuple(sorted(_in_words(fault, form) for fault in questions)),
        understood,
        engine if not faults else None,
        tuple(map(str, walk.plain.get("assumed", ()))),
    )


def _walk(walk: _Walk, operations: Collection[str]) -> None:
    known = {item.name for item in dataclasses.fields(Engine)}
    for key in walk.document.value:
        if key not in known:
            words = {path.split(".")[-1]: path for group in walk.form.groups.values() for path in group.fields}
            place = words.get(str(key), "")
            walk.fault(
                (key,),
                f"'{key}' is no field of a sheet",
                f"it belongs under {place.rpartition('.')[0]}"
                if "." in place
                else nearest(str(key), known) or "docs/engines.md lists the fields",
                at_key=True,
            )
    _build(walk)
    for path in (path for group in walk.form.groups.values() for path in group.fields):
        if not path.startswith(("build.", "torques.", "hours.", "fluids.")) and path not in ("note",):
            _one(walk, tuple(path.split(".")), walk.form.field(path))
    _journals(walk)
    _named(walk, "torques", "torques.head", Torque)
    _hours(walk, operations)
    _texts(walk)
    _source(walk)
    _missing(walk)


def _raw(walk: _Walk, path: tuple) -> Any:
    here: Any = walk.document.value
    for part in path:
        here = here.get(part) if isinstance(here, dict) else None
    return here


def _build(walk: _Walk) -> None:
    raw = walk.document.value.get("build")
    names = [item.name for item in dataclasses.fields(Build)]
    if raw is not None and not isinstance(raw, dict):
        walk.fault(("build",), f"build holds {_shown(raw)}; it has one word for each of {', '.join(names[:5])} ...")
        return
    for key in raw or {}:
        if key not in names:
            walk.fault(
                ("build", key),
                f"'{key}' says nothing of how an engine is built",
                nearest(str(key), names) or f"known: {', '.join(names)}",
                at_key=True,
            )
    for name in names:
        if name in (raw or {}):
            _one(walk, ("build", name), walk.form.field(f"build.{name}"))


def _journals(walk: _Walk) -> None:
    parts = [item.name for item in dataclasses.fields(Journal)]
    for kind in ("crankpins", "mains"):
        raw = walk.document.value.get(kind)
        if raw in (None, ""):
            continue
        if not isinstance(raw, dict):
            walk.fault(
                (kind,),
                f"{kind} holds {_shown(raw)}; it has parts of its own: {', '.join(parts)}",
                f"{kind}: {{size: {{low: 1.937 in, high: 1.938 in}}}}",
            )
            continue
        for key in raw:
            if key not in parts:
                walk.fault(
                    (kind, key),
                    f"'{key}' is no part of {kind}",
                    nearest(str(key), parts) or f"parts: {', '.join(parts)}",
                    at_key=True,
                )
        walk.plain[kind] = {"size": {}, "clearance": {}, **walk.plain.get(kind, {})}


def _one(walk: _Walk, path: tuple, form: SheetField | None) -> None:
    """One field of the form: taken as the sheet writes it, as people write it, or faulted."""
    raw = _raw(walk, path)
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
            path, f"{_dotted(path)} holds {_shown(raw)}, and one figure is wanted: {_for(form)}", f"such as {form.like}"
        )
    else:
        _typed(walk, path, form, raw)


def _word(walk: _Walk, path: tuple, form: SheetField, raw: Any) -> None:
    word = word_of(raw, form) if not isinstance(raw, (dict, list)) else None
    if word is None:
        walk.fault(path, f"{_dotted(path)}: {not_a_word(str(raw), form)}", _for(form))
        return
    walk.take(path, word, raw)


def _typed(walk: _Walk, path: tuple, form: SheetField, raw: Any) -> None:
    """A figure or a line as a manual prints it."""
    if form.kind == "figure" and isinstance(raw, str) and _is_quantity(raw, form.unit):
        walk.take(path, raw, raw)
        return
    if form.kind == "money" and isinstance(raw, str) and raw.replace(".", "", 1).isdigit():
        walk.take(path, raw, raw)
        return
    if form.kind == "count" and isinstance(raw, int) and not isinstance(raw, bool):
        if form.least <= raw <= form.most:
            walk.take(path, raw, raw)
        else:
            walk.fault(path, f"{_dotted(path)} is {raw}; {form.least} to {form.most} are known", _for(form))
        return
    try:
        made = printed(str(raw), ".".join(map(str, path)), form, {})
    except UnitWanted as wanted:
        offered = listed(OFFERED[wanted.dimension])
        walk.fault(
            path,
            f"{_dotted(path)} is {_shown(raw)} and says no unit: {offered}?",
            f"such as '{raw} {form.unit}'; {_for(form)}",
        )
        return
    except Unreadable as error:
        walk.fault(path, f"{_dotted(path)}: {error}", f"{_for(form)}; such as {form.like}")
        return
    walk.take(path, made.value, raw)
    for name, value in made.others.items():
        if not _raw(walk, tuple(name.split("."))):
            walk.take(tuple(name.split(".")), value, None)


def _fit(walk: _Walk, path: tuple, form: SheetField, raw: Mapping[str, Any]) -> None:
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
                f"'{key}' stands under {_dotted(path)}, which has low, high and wear",
                f"did you mean {meant}?" if meant else f"{_for(form)}; low and high are new, wear is the limit",
                at_key=True,
            )
    kept: dict[str, Any] = {}
    for part in ("low", "high", "wear"):
        text = raw.get(part)
        if text in (None, ""):
            continue
        if isinstance(text, (dict, list)):
            walk.fault(
                (*path, part), f"{_dotted((*path, part))} holds {_shown(text)}, and one figure is wanted", _PARTS[part]
            )
        elif isinstance(text, str) and _is_quantity(text, form.unit):
            kept[part] = text
        else:
            _part(walk, (*path, part), form, text, kept, part)
    if kept or raw.get("source"):
        here = walk.plain
        for name in path[:-1]:
            here = here.setdefault(name, {})
        here[path[-1]] = {**kept, **({"source": raw["source"]} if raw.get("source") else {})}


def _part(walk: _Walk, path: tuple, form: SheetField, raw: Any, kept: dict[str, Any], part: str) -> None:
    single = dataclasses.replace(form, kind="figure", pick="least" if part == "low" else "most", at="", state="")
    try:
        made = printed(str(raw), ".".join(map(str, path)), single, {})
    except UnitWanted as wanted:
        walk.fault(
            path,
            f"{_dotted(path)} is {_shown(raw)} and says no unit: {listed(OFFERED[wanted.dimension])}?",
            f"such as '{raw} {form.unit}'; {_PARTS[part]}",
        )
        return
    except Unreadable as error:
        walk.fault(
            path,
            f"{_dotted(path)}: {error}",
            f"{_PARTS[part]}; such as '0.013 {form.unit}'" if form.unit == "in" else _PARTS[part],
        )
        return
    kept[part] = made.value
    walk.understood.append(
        Understood(
            walk.document.fault(path, f"{_dotted(path)}: {_shown(raw)} is understood as {_shown(made.value)}"),
            path,
            made.value,
        )
    )


def _torque(walk: _Walk, path: tuple, form: SheetField, raw: Mapping[str, Any]) -> None:
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
                f"{_dotted(path)}.lubricated: '{raw['lubricated']}' is none of: yes, no",
                "whether the thread is oiled",
            )
        else:
            kept["lubricated"] = word
            if word != raw["lubricated"]:
                walk.understood.append(
                    Understood(
                        walk.document.fault(
                            (*path, "lubricated"),
                            f"{_dotted(path)}.lubricated: {_shown(raw['lubricated'])} is understood as {word}",
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
            f"{_dotted(path)}.stages holds {_shown(stages)}; stages stand in a row",
            "[25 ft-lb, 45 ft-lb, 65 ft-lb]",
        )
    if raw.get("value") in (None, ""):
        walk.fault(path, f"{_dotted(path)} has no value: {_for(form)}", "value: 65 ft-lb")
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


def _quantity(walk: _Walk, path: tuple, form: SheetField, raw: Any) -> dict[str, Any] | None:
    """One figure of a tightening; told where it is written otherwise than the sheet writes it."""
    if isinstance(raw, str) and _is_quantity(raw, form.unit):
        return {"value": raw}
    if isinstance(raw, (dict, list)):
        walk.fault(path, f"{_dotted(path)} holds {_shown(raw)}, and one figure is wanted", "such as 65 ft-lb")
        return None
    try:
        made = printed(str(raw), ".".join(map(str, path)), form, {})
    except UnitWanted:
        walk.fault(
            path,
            f"{_dotted(path)} is {_shown(raw)} and says no unit: {listed(OFFERED['torque'])}?",
            f"such as '{raw} ft-lb'",
        )
        return None
    except Unreadable as error:
        walk.fault(path, f"{_dotted(path)}: {error}", "such as 65 ft-lb")
        return None
    for key, value in made.value.items():
        where = path if key == "value" else (*path[:-1], key)
        walk.understood.append(
            Understood(
                walk.document.fault(
                    path, f"{_dotted(where)}: {_shown(raw)} is understood as {torque_said(made.value)}"
                ),
                where,
                value,
            )
        )
    return made.value


def _list(walk: _Walk, path: tuple, form: SheetField, raw: Sequence[Any]) -> None:
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
                        walk.document.fault(here, f"{_dotted(here)}: {_shown(item)} is understood as {item}"),
                        here,
                        int(item),
                    )
                )
            else:
                walk.fault(here, f"{_dotted(path)}: '{item}' is no number of a cylinder", f"such as {form.like}")
        elif isinstance(item, str) and _is_quantity(item, form.unit):
            kept.append(item)
        else:
            single = dataclasses.replace(form, kind="figure", pick="most")
            try:
                made = printed(str(item), ".".join(map(str, here)), single, {})
            except UnitWanted:
                walk.fault(
                    here,
                    f"{_dotted(path)}: {_shown(item)} says no unit: {listed(OFFERED[DIMENSION[form.unit]])}?",
                    f"such as '{item} {form.unit}'",
                )
                continue
            except Unreadable as error:
                walk.fault(here, f"{_dotted(path)}: {error}", f"such as {form.like}")
                continue
            kept.append(made.value)
            walk.understood.append(
                Understood(
                    walk.document.fault(here, f"{_dotted(path)}: {_shown(item)} is understood as {made.value}"),
                    here,
                    made.value,
                )
            )
    here = walk.plain
    for part in path[:-1]:
        here = here.setdefault(part, {})
    if kept:
        here[path[-1]] = kept


def _named(walk: _Walk, key: str, like: str, shape: type) -> None:
    """Torques: one by what is tightened; a name that the form has not is let stand."""
    raw = walk.document.value.get(key)
    if raw in (None, {}, ""):
        return
    if not isinstance(raw, dict):
        walk.fault(
            (key,), f"{key} holds {_shown(raw)}; it has a line for each: head, main, rod ...", "head: {value: 65 ft-lb}"
        )
        return
    for name in raw:
        form = walk.form.field(f"{key}.{name}") or walk.form.field(like)
        if form is not None and not str(name).startswith(".") and "." not in str(name):
            _one(walk, (key, name), form)


def _hours(walk: _Walk, operations: Collection[str]) -> None:
    raw = walk.document.value.get("hours")
    if raw in (None, {}, ""):
        return
    if not isinstance(raw, dict):
        walk.fault(("hours",), f"hours holds {_shown(raw)}; it has a line for each work", "valve_job: 6")
        return
    form = walk.form.field("hours.valve_job")
    for name in raw:
        if operations and name not in operations:
            walk.fault(
                ("hours", name),
                f"no work is called '{name}'",
                nearest(str(name), operations) or "howdeep rules show NAME tells what a work is called",
                at_key=True,
            )
        elif form is not None:
            _one(walk, ("hours", name), form)


def _texts(walk: _Walk) -> None:
    for key in ("name", "note"):
        raw = walk.document.value.get(key)
        if raw not in (None, ""):
            if isinstance(raw, (dict, list)):
                walk.fault((key,), f"{key} holds {_shown(raw)}; a few words are wanted: {_OTHERS[key]}")
            else:
                walk.take((key,), str(raw), raw)
    for key in ("fluids", "sure"):
        raw = walk.document.value.get(key)
        if raw in (None, {}, ""):
            continue
        if not isinstance(raw, dict):
            walk.fault((key,), f"{key} holds {_shown(raw)}; it has a line for each: {_OTHERS[key]}")
            continue
        for name, text in raw.items():
            if isinstance(text, (dict, list)):
                walk.fault((key, name), f"{key}.{name} holds {_shown(text)}; a few words are wanted")
            else:
                walk.take((key, name), str(text), text)
    raw = walk.document.value.get("assumed")
    if isinstance(raw, list):
        walk.plain["assumed"] = [str(item) for item in raw]
    elif raw not in (None, ""):
        walk.fault(("assumed",), f"assumed holds {_shown(raw)}; it is a row of names", "[build.guides]")


def _source(walk: _Walk) -> None:
    raw = walk.document.value.get("source")
    if raw in (None, "", []):
        return
    items = raw if isinstance(raw, list) else [raw]
    for index, item in enumerate(items):
        path = ("source", index) if isinstance(raw, list) else ("source",)
        if not isinstance(item, dict) or str(item.get("standing")) not in _STANDINGS:
            walk.fault(
                path,
                f"source: {_shown(item)} does not say on what the figures stand: {listed(_STANDINGS)}",
                "[{standing: published, where: the maker's manual, p. 12}]",
            )
            return
    walk.plain["source"] = items


def _missing(walk: _Walk) -> None:
    """What a sheet cannot be without, each with what it is for."""
    plain = walk.document.value
    if not str(plain.get("name") or "").strip():
        walk.fault((), "name is missing: what the engine is called")
    build = plain.get("build") if isinstance(plain.get("build"), dict) else {}
    if plain.get("build") is None or isinstance(plain.get("build"), dict):
        for item in dataclasses.fields(Build):
            if item.default is dataclasses.MISSING and build.get(item.name) in (None, ""):
                form = walk.form.field(f"build.{item.name}")
                words = (
                    (list(form.words) or ["yes", "no"])
                    if form and form.kind in ("word", "yes_no")
                    else ["a number, 1 to 6"]
                )
                walk.fault(
                    ("build",),
                    f"build.{item.name} is missing: {_for(form)}" if form else f"build.{item.name} is missing",
                    f"one of: {', '.join(words)}" if len(words) > 1 else words[0],
                )
    for key, wanted in (
        ("bore", "{low: 3.437 in, high: 3.438 in}"),
        ("stroke", "3.9 in"),
        ("firing_order", "[1, 3, 4, 2]"),
    ):
        if key not in plain:
            form = walk.form.field(key)
            walk.fault((), f"{key} is missing: {_for(form)}" if form else f"{key} is missing", f"{key}: {wanted}")
    order = walk.plain.get("firing_order")
    cylinders = walk.plain.get("build", {}).get("cylinders")
    if order and cylinders and sorted(order) != list(range(1, cylinders + 1)):
        walk.fault(
            ("firing_order",),
            f"firing_order {'-'.join(map(str, order))} does not name each of {cylinders} cylinders once",
            f"such as {'-'.join(map(str, FIRING.get(cylinders, [1])))}",
        )


def _guarded(walk: _Walk, table: Mapping[str, Any]) -> tuple[Engine | None, list[Fault], list[Fault]]:
    """The sheet with what is sound in it, completed where something is missing, held against every range at once."""
    plain = completed(walk.plain, walk.form)
    made = parse(sheet_text(plain))
    faults: list[Fault] = []
    engine = typed(made, (), made.value, Engine, faults)
    if engine is None:
        return None, [_placed(walk.document, fault, made) for fault in faults], []
    refused, questions = guard_sheet(engine, made, table)
    broken = {fault.message.split(" ")[0].rpartition(".")[0] for fault in refused} - {""}
    questions = [item for item in questions if item.message.split(" ")[0].rpartition(".")[0] not in broken]
    return (
        engine,
        [_placed(walk.document, fault, made) for fault in refused],
        [_placed(walk.document, fault, made) for fault in questions],
    )


def completed(plain: Mapping[str, Any], form: SheetForm) -> dict[str, Any]:
    """Plain values with what a sheet cannot be without, as is usual."""
    build = usual_words(form, plain.get("build", {}))
    order, cylinders = plain.get("firing_order"), int(build["cylinders"])
    if not order or sorted(order) != list(range(1, cylinders + 1)):
        order = FIRING[cylinders]
    whole = {
        **plain,
        "name": str(plain.get("name") or "sheet"),
        "build": build,
        "firing_order": order,
        "bore": plain.get("bore") or {},
        "stroke": plain.get("stroke") or "",
    }
    return {key: whole[key] for key in ORDER if key in whole}


def _placed(document: Document, fault: Fault, made: Document) -> Fault:
    """A fault of the completed sheet at its place in the file that was given."""
    spot = (fault.line, fault.column)
    paths = [path for path, place in (*made.places.items(), *made.keys.items()) if place == spot]
    return document.fault(max(paths, key=len) if paths else (), fault.message, fault.hint)


def _in_words(fault: Fault, form: SheetForm) -> Fault:
    """A fault without the words of the program that reads sheets."""
    text = fault.message
    if "instance of" in text or "input should" in text or "not a mapping" in text:
        return dataclasses.replace(
            fault, message="this cannot be read here", hint="docs/engines.md shows how it is written"
        )
    return fault


def _for(form: SheetField | None) -> str:
    return f"{form.purpose[0].lower()}{form.purpose[1:].rstrip('.')}" if form else ""


def _is_quantity(text: str, unit: str) -> bool:
    try:
        parse_quantity(text, unit=unit)
    except QuantityError:
        return False
    return True


def _dotted(path: Sequence[str | int]) -> str:
    return ".".join(map(str, path))


def _shown(raw: Any) -> str:
    """A value as it was written, short."""
    text = (
        dump_inline(raw)
        if isinstance(raw, (dict, list, bool)) or raw is None
        else f"'{raw}'"
        if isinstance(raw, str)
        else f"{raw}"
    )
    return text if len(text) <= 80 else f"{text[:77]}..."


def with_usual(
    document: Document, form: SheetForm, table: Mapping[str, Any], checked: Checked, operations: Collection[str] = ()
) -> Checked:
    """The check with every missing word of the build, and the firing order, understood as is usual and named under
    `assumed`."""
    walk = _Walk(document, form, {})
    _walk(walk, operations)
    raw = document.value if isinstance(document.value, dict) else {}
    build = raw.get("build") if isinstance(raw.get("build"), dict) else {}
    whole = completed(walk.plain, form)
    more: list[Understood] = []
    for name, word in whole["build"].items():
        if build.get(name) in (None, ""):
            more.append(
                Understood(
                    document.fault(("build",), f"build.{name} is taken as usual: {_shown(word)}"), ("build", name), word
                )
            )
    if not raw.get("firing_order"):
        more.append(
            Understood(
                document.fault((), f"firing_order is taken as usual: {whole['firing_order']}"),
                ("firing_order",),
                whole["firing_order"],
            )
        )
    for key, blank in (("bore", {}), ("stroke", "")):
        if key not in raw:
            more.append(Understood(document.fault((), f"{key} is left blank"), (key,), blank))
    if more:
        named = [
            *walk.plain.get("assumed", ()),
            *(".".join(map(str, item.path)) for item in more if item.value not in ({}, "")),
        ]
        more.append(Understood(document.fault((), f"assumed names {len(named)} of them"), ("assumed",), named))
    return dataclasses.replace(checked, understood=(*checked.understood, *more))


def written(path: str | Path, document: Document, checked: Checked) -> None:
    """Write what was understood into the file the sheet's way; comments and layout of the rest stay."""
    plain = _copied(document.value)
    for item in checked.understood:
        here = plain
        for part in item.path[:-1]:
            if isinstance(here, dict):
                here = here.setdefault(part, {})
            else:
                here = here[part]
        if isinstance(here, dict) or isinstance(item.path[-1], int):
            here[item.path[-1]] = item.value
    text = edited(document.text, document.value, plain, ORDER)
    write_whole(path, text.encode(), digest=document.digest)


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _copied(item) for key, item in value.items()}
    return [_copied(item) for item in value] if isinstance(value, list) else value
