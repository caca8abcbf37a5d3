"""Sweeps that `make test` takes by sample and `make whole` takes whole."""

import os
from pathlib import Path

WHOLE = os.environ.get("HOWDEEP_WHOLE") == "1"
SAMPLED = {
    name: int(every)
    for line in Path(__file__).with_name("sampled.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
    for name, every in (line.split(),)
}
"""Test function (file::name) -> it is tried with every so-manieth of its parameters, the first among them."""


def some(items, every):
    """Every so-manieth, or all of them in a whole run."""
    return list(items)[:: 1 if WHOLE else every]


def left_out(items):
    """Tests that a sampled run leaves out: `items` as pytest has collected them."""
    if WHOLE:
        return []
    met, out = {}, []
    for item in items:
        name = f"{item.path.name}::{getattr(item, 'originalname', item.name)}"
        if name in SAMPLED:
            met[name] = met.get(name, -1) + 1
            if met[name] % SAMPLED[name]:
                out.append(item)
    return out
