"""A sheet under check gone through from its first field to its last, and what it cannot be without."""

from __future__ import annotations

import dataclasses
from collections.abc import Collection

from ..errors import listed, nearest
from ..model.engine import Build, Engine, Journal
from .check_fields import one_field
from .check_found import Walk, as_written, purpose_of
from .usual import FIRING

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


def walk_sheet(walk: Walk, operations: Collection[str]) -> None:
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
        if not path.startswith(("build.", "torques.", "hours.", "fluids.")) and path != "note":
            one_field(walk, tuple(path.split(".")), walk.form.field(path))
    _journals(walk)
    _named(walk, "torques", "torques.head")
    _hours(walk, operations)
    _texts(walk)
    _source(walk)
    _missing(walk)


def _build(walk: Walk) -> None:
    raw = walk.document.value.get("build")
    names = [item.name for item in dataclasses.fields(Build)]
    if raw is not None and not isinstance(raw, dict):
        walk.fault(("build",), f"build holds {as_written(raw)}; it has one word for each of {', '.join(names[:5])} ...")
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
            one_field(walk, ("build", name), walk.form.field(f"build.{name}"))


def _journals(walk: Walk) -> None:
    parts = [item.name for item in dataclasses.fields(Journal)]
    for kind in ("crankpins", "mains"):
        raw = walk.document.value.get(kind)
        if raw in (None, ""):
            continue
        if not isinstance(raw, dict):
            walk.fault(
                (kind,),
                f"{kind} holds {as_written(raw)}; it has parts of its own: {', '.join(parts)}",
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


def _named(walk: Walk, key: str, like: str) -> None:
    """Torques: one by what is tightened; a name that the form has not is let stand."""
    raw = walk.document.value.get(key)
    if raw in (None, {}, ""):
        return
    if not isinstance(raw, dict):
        walk.fault(
            (key,),
            f"{key} holds {as_written(raw)}; it has a line for each: head, main, rod ...",
            "head: {value: 65 ft-lb}",
        )
        return
    for name in raw:
        form = walk.form.field(f"{key}.{name}") or walk.form.field(like)
        if form is not None and not str(name).startswith(".") and "." not in str(name):
            one_field(walk, (key, name), form)


def _hours(walk: Walk, operations: Collection[str]) -> None:
    raw = walk.document.value.get("hours")
    if raw in (None, {}, ""):
        return
    if not isinstance(raw, dict):
        walk.fault(("hours",), f"hours holds {as_written(raw)}; it has a line for each work", "valve_job: 6")
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
            one_field(walk, ("hours", name), form)


def _texts(walk: Walk) -> None:
    for key in ("name", "note"):
        raw = walk.document.value.get(key)
        if raw not in (None, ""):
            if isinstance(raw, (dict, list)):
                walk.fault((key,), f"{key} holds {as_written(raw)}; a few words are wanted: {_OTHERS[key]}")
            else:
                walk.take((key,), str(raw), raw)
    for key in ("fluids", "sure"):
        raw = walk.document.value.get(key)
        if raw in (None, {}, ""):
            continue
        if not isinstance(raw, dict):
            walk.fault((key,), f"{key} holds {as_written(raw)}; it has a line for each: {_OTHERS[key]}")
            continue
        for name, text in raw.items():
            if isinstance(text, (dict, list)):
                walk.fault((key, name), f"{key}.{name} holds {as_written(text)}; a few words are wanted")
            else:
                walk.take((key, name), str(text), text)
    raw = walk.document.value.get("assumed")
    if isinstance(raw, list):
        walk.plain["assumed"] = [str(item) for item in raw]
    elif raw not in (None, ""):
        walk.fault(("assumed",), f"assumed holds {as_written(raw)}; it is a row of names", "[build.guides]")


def _source(walk: Walk) -> None:
    raw = walk.document.value.get("source")
    if raw in (None, "", []):
        return
    items = raw if isinstance(raw, list) else [raw]
    for index, item in enumerate(items):
        path = ("source", index) if isinstance(raw, list) else ("source",)
        if not isinstance(item, dict) or str(item.get("standing")) not in _STANDINGS:
            walk.fault(
                path,
                f"source: {as_written(item)} does not say on what the figures stand: {listed(_STANDINGS)}",
                "[{standing: published, where: the maker's manual, p. 12}]",
            )
            return
    walk.plain["source"] = items


def _missing(walk: Walk) -> None:
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
                    f"build.{item.name} is missing: {purpose_of(form)}" if form else f"build.{item.name} is missing",
                    f"one of: {', '.join(words)}" if len(words) > 1 else words[0],
                )
    for key, wanted in (
        ("bore", "{low: 3.437 in, high: 3.438 in}"),
        ("stroke", "3.9 in"),
        ("firing_order", "[1, 3, 4, 2]"),
    ):
        if key not in plain:
            form = walk.form.field(key)
            walk.fault((), f"{key} is missing: {purpose_of(form)}" if form else f"{key} is missing", f"{key}: {wanted}")
    order = walk.plain.get("firing_order")
    cylinders = walk.plain.get("build", {}).get("cylinders")
    if order and cylinders and sorted(order) != list(range(1, cylinders + 1)):
        walk.fault(
            ("firing_order",),
            f"firing_order {'-'.join(map(str, order))} does not name each of {cylinders} cylinders once",
            f"such as {'-'.join(map(str, FIRING.get(cylinders, [1])))}",
        )
