"""Closed jobs as rows to score, made up."""

from howdeep.record.row import Row


def closed(name, **changes):
    """A closed job of which nothing is known but what is given."""
    base = {
        "engine": "tarn-30",
        "date": "2026-01-01",
        "rung": "refresh",
        "promised_rung": "refresh",
        "enough": {},
        "odds": {},
        "truths": {},
        "scope_done": None,
        "came_back": "",
        "hours": None,
        "cost": None,
        "promised_cost": None,
        "rule_base": "1",
        "from_promise": True,
    }
    return Row(name, **{**base, **changes})
