"""A picture is drawn once for the same figures, whoever asks, and by one thread at a time."""

import threading
from decimal import Decimal
from functools import partial

import pytest

from howdeep.show import charts

from .at_once import at_once


@pytest.fixture
def drawings(monkeypatch):
    """How many pictures were really drawn."""
    counted, figure = [], charts._figure

    def drawn(*given):
        counted.append(threading.get_ident())
        return figure(*given)

    monkeypatch.setattr(charts, "_figure", drawn)
    return counted


def test_the_same_figures_are_drawn_once_and_others_anew(drawings):
    rows = [("Top end", Decimal(812), "likely", True), ("Refresh", Decimal(1520), "very likely", False)]
    first = charts.depth_and_price(rows, "USD")
    assert charts.depth_and_price([*rows], "USD") == first and len(drawings) == 1
    other = charts.depth_and_price([rows[0], (*rows[1][:3], True)], "USD")
    assert other != first and len(drawings) == 2
    assert charts.depth_and_price(rows, "EUR") != first and len(drawings) == 3
    dry = [48.0, 50.0, None, 49.0]
    assert charts.compression_bars(dry, [], (100.0, 120.0), "psi") == charts.compression_bars(
        tuple(dry), (), (100.0, 120.0), "psi"
    )
    assert len(drawings) == 4


def test_pictures_drawn_at_once_are_those_drawn_one_by_one():
    draw = charts.waterfall.__wrapped__  # anew each time, not from what is kept
    steps = [(("before any sign", -9.5), (f"sign {number}", 4.0)) for number in range(4)]
    alone, together = [draw("cause", each) for each in steps], {}

    def drawn(place):
        together[place] = draw("cause", steps[place])

    at_once(*(partial(drawn, place) for place in range(len(steps))))
    assert [together[place] for place in range(len(steps))] == alone
