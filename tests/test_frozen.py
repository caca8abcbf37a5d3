"""Frozen values made by `howdeep.model.frozen` are those that the standard library makes of the same class."""

from __future__ import annotations

import copy
import dataclasses
import importlib
import inspect
import pickle
import pkgutil
from dataclasses import FrozenInstanceError, field
from typing import Any

import pytest

import howdeep
from howdeep.model import frozen

KEPT: list[str] = ["shared"]


def of_both(**settings: Any) -> list[type]:
    made = []
    for maker in (dataclasses.dataclass, frozen.dataclass):

        @maker(frozen=True, slots=True, **settings)
        class Bore:
            """A bore and what was found in it."""

            name: str
            size: float = 3.5
            marks: list[str] = field(default_factory=list)
            shared: list[str] = field(default_factory=lambda: KEPT, repr=False)
            note: str = field(default="", compare=False)
            worn: bool = field(default=False, kw_only=True)

            def twice(self) -> float:
                return 2 * self.size

        made.append(Bore)
    return made


LIBRARY, OWN = of_both()
WAYS: list[tuple[tuple[Any, ...], dict[str, Any]]] = [
    (("one",), {}),
    (("one", 3.25), {}),
    (("one", 3.25, ["scored"]), {"worn": True}),
    ((), {"name": "two", "note": "said", "shared": ["own"]}),
    (("one",), {"note": "another"}),
]


@pytest.mark.parametrize(("given", "named"), WAYS)
def test_a_value_holds_and_shows_what_the_library_s_does(given: Any, named: Any):
    theirs, ours = LIBRARY(*given, **named), OWN(*given, **named)
    assert repr(ours) == repr(theirs)
    assert dataclasses.asdict(ours) == dataclasses.asdict(theirs)
    assert [ours.twice(), ours.note, ours.shared] == [theirs.twice(), theirs.note, theirs.shared]
    assert ours.marks is not OWN(*given, **named).marks or len(given) > 2
    assert dataclasses.replace(ours, size=4.0) == OWN(**{**dataclasses.asdict(ours), "size": 4.0})
    assert copy.deepcopy(ours) == ours


def test_values_compare_as_the_library_s_do():
    for one in WAYS:
        for other in WAYS:
            sides = [made(*one[0], **one[1]) == made(*other[0], **other[1]) for made in (LIBRARY, OWN)]
            assert sides[0] is sides[1]
    assert OWN("one") != LIBRARY("one")
    assert OWN("one").__eq__("one") is NotImplemented


@pytest.mark.parametrize(
    "wrong", [((), {}), (("one", 1.0, [], [], "", True), {}), (("one",), {"name": "two"}), (("one",), {"bore": 1})]
)
def test_what_the_library_refuses_is_refused(wrong: Any):
    said = []
    for made in (LIBRARY, OWN):
        with pytest.raises(TypeError) as raised:
            made(*wrong[0], **wrong[1])
        said.append(str(raised.value))
    assert said[0] == said[1]


@pytest.mark.parametrize("name", ["size", "name", "there_is_none"])
def test_a_value_cannot_be_changed(name: str):
    said = []
    for made in (LIBRARY, OWN):
        value = made("one")
        with pytest.raises((FrozenInstanceError, TypeError)) as raised:
            setattr(value, name, 1.0)
        with pytest.raises(FrozenInstanceError):
            del value.size
        assert value.size == 3.5
        said.append(raised.value)
    assert isinstance(said[1], FrozenInstanceError)


def test_values_by_identity_are_not_compared():
    for made in of_both(eq=False):
        assert made("one") != made("one")
        assert len({made("one"), made("one")}) == 2


@frozen.dataclass(frozen=True, slots=True)
class Limit:
    low: float
    high: float = 1.0

    def __repr__(self) -> str:
        return f"{self.low} to {self.high}"


@frozen.dataclass(frozen=True, slots=True)
class Named(Limit):
    name: str = "limit"


def test_values_are_hashed_sent_and_taken_apart_like_the_library_s():
    value = Named(0.5, name="runout")
    assert {value: 1}[Named(0.5, 1.0, "runout")] == 1
    assert hash(value) == hash((0.5, 1.0, "runout"))
    assert pickle.loads(pickle.dumps(value)) == value
    assert repr(Limit(0.5)) == "0.5 to 1.0"
    assert not hasattr(value, "__dict__")
    match value:
        case Named(low, high, name):
            assert (low, high, name) == (0.5, 1.0, "runout")


def test_other_sorts_the_library_makes():
    @frozen.dataclass(frozen=True, slots=True, order=True)
    class Place:
        line: int

    @frozen.dataclass(slots=True)
    class Heap:
        items: int

    assert Place(1) < Place(2)
    heap = Heap(1)
    heap.items = 2
    assert heap.items == 2


def test_every_value_of_the_package_takes_its_fields_in_their_order():
    count = 0
    for module in pkgutil.walk_packages(howdeep.__path__, "howdeep."):
        if module.name.endswith("__main__"):
            continue
        for kind in vars(importlib.import_module(module.name)).values():
            if not (inspect.isclass(kind) and dataclasses.is_dataclass(kind) and kind.__module__ == module.name):
                continue
            fields = [item.name for item in dataclasses.fields(kind) if not item.kw_only]
            assert list(kind.__match_args__) == fields
            values = {item.name: object() for item in dataclasses.fields(kind)}
            if getattr(kind, "__post_init__", None) is None:
                made = kind(**values)
                assert all(getattr(made, name) is value for name, value in values.items())
                count += 1
    assert count > 300
