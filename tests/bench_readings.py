"""A bench for tests of readings: invented engines, jobs from plain values, the general limits and observations."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

from howdeep.knowledge.engine_facts import count_of
from howdeep.knowledge.load import load
from howdeep.model.engine import Build, Engine, Fit, Journal
from howdeep.model.job import Job, OpenJob, Place
from howdeep.model.knowledge import Knowledge
from howdeep.model.results import Facts, Remark
from howdeep.model.truth import Truth
from howdeep.readings import SizeChoice, order_sizes, reduce

ROOT = Path(__file__).resolve().parents[1]

BUILD = Build(
    fuel="petrol",
    layout="side_valve",
    cylinders=4,
    use="farm",
    bores="in_block",
    bearings="inserts",
    mains_in_frame="yes",
    pan_in_frame="yes",
    rear_seal="rope",
    rear_seal_needs="split",
    guides="pressed",
    seats="cast",
    head_takes_resurfacing="yes",
    frame="in_frame",
    volts="6",
    ignition="battery",
    hand_crank="yes",
    electric_start="yes",
    oiling="pressure",
    oil_gauge="yes",
    cooling="pump",
)


def build(**changes: Any) -> Build:
    """The invented farm engine's build with changes."""
    return Build(**{name: getattr(BUILD, name) for name in Build.__dataclass_fields__} | changes)


def engine(build_changes: dict[str, Any] | None = None, **changes: Any) -> Engine:
    """An invented engine; figures only where a test gives them."""
    built = build(**(build_changes or {}))
    plain = {
        "name": "Invented four",
        "build": built,
        "bore": Fit("3.0000 in", "3.0010 in"),
        "stroke": "4.000 in",
        "firing_order": tuple(range(1, built.cylinders + 1)),
    }
    return Engine(**plain | changes)


@cache
def knowledge() -> Knowledge:
    """The shipped rule base."""
    return load([ROOT / "rules"])


def job(on: Engine, values: dict[str, Any], *, altitude: str = "0 ft", air: str = "") -> OpenJob:
    """An open job with values as the job file would give them: lists become one value per cylinder, a bare value for a
    reading taken each is spread over all."""
    known = knowledge().observations
    ready: dict[str, Any] = {}
    for name, value in values.items():
        if known[name].each and not isinstance(value, (list, tuple)):
            value = [value] * count_of(on, known[name].each)
        ready[name] = _tuples(value)
    plain = Job(1, "invented", place=Place(altitude=altitude, air_temperature=air))
    return OpenJob("bench.yaml", "", plain, on, dict(sorted(ready.items())), frozenset(), frozenset())


def _tuples(value: Any) -> Any:
    return tuple(_tuples(item) for item in value) if isinstance(value, (list, tuple)) else value


def always(truth: Truth):
    """Validity of every test."""
    return lambda name: truth


def facts(
    on: Engine,
    values: dict[str, Any],
    *,
    altitude: str = "0 ft",
    air: str = "",
    valid: Truth = Truth.PRESENT,
    gauges: dict[str, float] | None = None,
) -> Facts:
    """Reduce values on an engine, with gauges that are truer or less true than the shipped ones."""
    base = knowledge()
    own = {name: replace(base.gauges[name], error=error) for name, error in (gauges or {}).items()}
    return reduce(
        job(on, values, altitude=altitude, air=air), replace(base, gauges={**base.gauges, **own}), always(valid)
    )


def choices(on: Engine, values: dict[str, Any]) -> dict[str, SizeChoice]:
    """Sizes to order."""
    return dict(order_sizes(job(on, values), knowledge()))


def remarks(given: Facts, kind: str, observation: str = "") -> list[Remark]:
    """Remarks of one kind, of one observation where named."""
    return [item for item in given.remarks if item.kind == kind and observation in ("", item.observation)]


def bore(top: tuple[float, float], bottom: tuple[float, float] | None = None) -> tuple:
    """A bore grid from its top and bottom readings (thrust, pin); the middle lies half-way."""
    low = bottom or top
    return (top, ((top[0] + low[0]) / 2, (top[1] + low[1]) / 2), low)


def round_journal(size: float) -> tuple:
    """A journal grid that is round and straight."""
    return ((size, size), (size, size))


def journal(low: str, high: str, clearance: tuple[str, ...], undersizes: tuple[str, ...], **more: Any) -> Journal:
    """A journal of the sheet."""
    return Journal(size=Fit(low, high), clearance=Fit(*clearance), undersizes=undersizes, **more)
