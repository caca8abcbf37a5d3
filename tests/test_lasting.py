"""What the processes of a run share is what each would have worked out, and nothing else goes by its name."""

import dataclasses
import pickle

import numpy as np
import pytest

from howdeep.model.engine import StandIn

from . import lasting, sharing
from .pages import CASE


def test_a_name_hangs_on_every_part_and_not_on_the_order_of_a_set(shop):
    job = shop.open_job(CASE)
    name = lasting.name_of(job, shop.prices)
    words = sorted(job.values)
    assert lasting.name_of(frozenset(words)) == lasting.name_of(frozenset(reversed(words)))
    assert lasting.name_of(dataclasses.replace(job), shop.prices) == name
    others = [
        dataclasses.replace(job, values={**job.values, "compression_dry": (1.0, 2.0, 3.0, 4.0)}),
        dataclasses.replace(job, unknown=job.unknown | {"oil_pressure_idle"}),
        dataclasses.replace(job, engine=dataclasses.replace(job.engine, name="Another")),
    ]
    names = [lasting.name_of(other, shop.prices) for other in others]
    names.append(lasting.name_of(job, dataclasses.replace(shop.prices, labour_rate="1.00")))
    assert len({name, *names}) == 5
    assert lasting.name_of("1", "2") != lasting.name_of("12") != lasting.name_of(12) != lasting.name_of(12.0)
    rows = [np.arange(4.0), np.arange(4), np.arange(4.0).reshape(2, 2), np.arange(4.0) + 1e-16, np.arange(4.0) + 1e-9]
    assert len({lasting.name_of(row) for row in rows}) == 5
    with pytest.raises(lasting.Nameless, match="no name is known"):
        lasting.name_of(object())


def test_a_value_is_worked_out_once_and_a_name_that_is_new_anew(tmp_path, monkeypatch):
    monkeypatch.setattr(lasting, "FOLDER", [tmp_path])
    assert [lasting.kept("a", lambda n=n: n) for n in (1, 2)] == [1, 1] and lasting.kept("b", lambda: 3) == 3
    monkeypatch.setattr(lasting, "FOLDER", [])
    assert lasting.kept("a", lambda: 2) == 2


def test_a_shared_answer_is_that_which_is_worked_out_anew(shop, tmp_path, monkeypatch):
    """Twice: once kept for others, once as another process would take it."""
    monkeypatch.setattr(lasting, "FOLDER", [tmp_path])
    job, how = shop.open_job(CASE), {"checks": False, "flips": False, "questions": False, "steps": True}
    anew = sharing._worked(shop.knowledge, job, shop.prices, **how)
    assert [sharing._lasting(shop.knowledge, job, shop.prices, **how) for _ in range(2)] == [anew, anew]
    assert len(list(tmp_path.iterdir())) == 1
    changed = dataclasses.replace(shop.knowledge)  # a rule base that was made and not loaded
    sharing._lasting(changed, job, shop.prices, **how)
    assert len(list(tmp_path.iterdir())) == 1


def test_a_figure_that_stands_in_is_handed_on_to_another_process_with_what_it_stands_in_by():
    given = pickle.loads(pickle.dumps(StandIn("3.1 in", "general limit")))
    assert type(given) is StandIn and given == "3.1 in" and given.basis == "general limit"
