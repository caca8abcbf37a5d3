"""A form saved field by field: merged with the job as it stands at that moment, never over somebody else's value."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import field
from pathlib import Path
from typing import Any

from flask import redirect

from ..errors import HowdeepError, StaleFile
from ..interview.session import Desk, plain_answer, put, put_many
from ..knowledge.engine_facts import count_of
from ..model.frozen import dataclass
from .merge import Clash, Merged, merge

TRIES = 8
CLASHED = "Somebody else changed the same field meanwhile. Both values stand below; nothing is saved yet."
BUSY = "Another program keeps writing this job, so this was not saved. Save again."
EXPIRED = "This form had expired, so nothing was saved. What you typed is still here: look it over and save again."
_LOCKS = tuple(threading.Lock() for _ in range(64))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a form."""

    desk: Desk
    """The job as it stands now."""
    status: int
    """303 saved (or nothing to save), 409 a clash, 422 a fault, 403 an expired form."""
    faults: tuple[str, ...] = ()
    typed: dict[str, str] = field(default_factory=dict)
    """Field -> text of what the sender changed."""
    clashes: dict[str, Clash] = field(default_factory=dict)
    """Field -> both values."""
    touched: frozenset[str] = frozenset()
    """Observations that hold something typed."""


def lock_of(path: Path) -> threading.Lock:
    """Savers of one job in this process take turns: a merge that was worked out is not stale when it is written."""
    return _LOCKS[hash(path) % len(_LOCKS)]


class Moved(HowdeepError):
    """Somebody else changed the same meanwhile: what is to be kept is no longer what was shown."""


def in_turn(name: str, desk_of: Callable[[str], Desk], step: Callable[[Desk], str], shown: Callable[..., Any]) -> Any:
    """A step on the job as it stands, tried again where another save came between; it gives the address that follows.
    What cannot be done is `shown` (name, desk, faults): 409 where it `Moved` or stays busy, 422 for a fault."""
    with lock_of(desk_of(name).path):
        for _ in range(TRIES):
            desk = desk_of(name)
            try:
                return redirect(step(desk), 303)
            except StaleFile:
                continue
            except Moved as moved:
                return shown(name, desk, fault_lines(moved)), 409
            except HowdeepError as error:
                return shown(name, desk, fault_lines(error)), 422
    return shown(name, desk, (BUSY,)), 409


def save_form(
    path: Path,
    open_desk: Callable[[], Desk],
    names: Sequence[str],
    form: Mapping[str, str],
    *,
    how: str = "",
    asked: bool = False,
) -> Outcome:
    """Merge the observations `names` of a form into the job and save them in one write."""
    with lock_of(path):
        for _ in range(TRIES):
            desk = open_desk()
            merged = _merged(desk, names, form, how, asked)
            changes = {name: item.plain for name, item in merged.items() if item.changed}
            if any(item.clashes for item in merged.values()):
                return back(desk, merged, 409, (CLASHED,))
            if not changes:
                return back(desk, merged, 303)
            try:
                if asked:
                    ((name, plain),) = changes.items()
                    return back(put(desk, name, plain), {}, 303)
                return back(put_many(desk, changes), {}, 303)
            except StaleFile:
                continue
            except HowdeepError as error:
                return back(desk, merged, 422, fault_lines(error))
        return back(desk, merged, 409, (BUSY,))


def expired_form(desk: Desk, names: Sequence[str], form: Mapping[str, str], *, asked: bool = False) -> Outcome:
    """A form that may not be saved, brought back with all that was typed into it."""
    return back(desk, _merged(desk, names, form, "", asked), 403, (EXPIRED,))


def fault_lines(error: HowdeepError) -> tuple[str, ...]:
    """Faults of typed values as lines: they came from no file."""
    return tuple(f"{fault.message}{f' ({fault.hint})' if fault.hint else ''}" for fault in error.faults)


def back(desk: Desk, merged: Mapping[str, Merged], status: int, faults: tuple[str, ...] = ()) -> Outcome:
    """The outcome with everything that the form must show again."""
    typed: dict[str, Any] = {}
    for item in merged.values():
        typed.update(item.typed)
    return Outcome(
        desk,
        status,
        faults,
        typed,
        {clash.field: clash for item in merged.values() for clash in item.clashes},
        frozenset(name for name, item in merged.items() if item.typed or item.clashes),
    )


def _merged(desk: Desk, names: Sequence[str], form: Mapping[str, str], how: str, asked: bool) -> dict[str, Merged]:
    observations = desk.knowledge.observations
    return {
        name: merge(
            observations[name],
            name,
            count_of(desk.job.engine, observations[name].each),
            form,
            plain_answer(desk, name),
            how=how,
            asked=asked,
        )
        for name in names
    }
