"""What one process of a run has worked out, kept in a folder of the run for the others: pickled values by what they
hang on. The folder is made anew for each run and only its own processes write to it."""

import contextlib
import dataclasses
import hashlib
import os
import pickle
from collections.abc import Mapping
from decimal import Decimal
from enum import Enum
from fractions import Fraction
from pathlib import Path

import numpy as np

FOLDER: list[Path] = []
"""Where they are kept; nothing is, while this is empty."""
SIMPLE = (str, int, float, bytes, Decimal, Fraction, Enum, Path, np.generic, type(None))


class Nameless(TypeError):
    """A value of a sort that is not shared: it is worked out where it is asked for."""


def name_of(*parts):
    """A name for what these say, the same in every process, whatever the order of their sets. Raises Nameless."""
    told = hashlib.sha256()
    for part in parts:
        _say(part, told.update)
    return told.hexdigest()


def _say(value, write):
    if isinstance(value, SIMPLE):
        write(f"{type(value).__name__} {value!r}\0".encode())
    elif dataclasses.is_dataclass(value):
        write(f"{type(value).__name__} {{".encode())
        for field in dataclasses.fields(value):
            _say(getattr(value, field.name), write)
        write(b"}")
    elif isinstance(value, np.ndarray):
        write(f"{value.dtype} {value.shape} {value.tolist()!r}\0".encode())
    elif isinstance(value, Mapping):
        write(b"map {")
        for key, item in value.items():  # in its order, which an answer may follow
            _say(key, write)
            _say(item, write)
        write(b"}")
    elif isinstance(value, (frozenset, set)):
        write(f"set {sorted(name_of(item) for item in value)}".encode())
    elif isinstance(value, (tuple, list)):
        write(f"{type(value).__name__} (".encode())
        for item in value:
            _say(item, write)
        write(b")")
    else:
        raise Nameless(f"no name is known for a {type(value).__name__}")


def kept(name, make):
    """The value of that name, worked out by `make` where no process of this run has done so yet."""
    if not FOLDER:
        return make()
    path = FOLDER[0] / name
    with contextlib.suppress(OSError):
        return pickle.loads(path.read_bytes())
    value = make()
    with contextlib.suppress(TypeError, pickle.PicklingError):  # what cannot be read back is not shared
        packed = pickle.dumps(value, pickle.HIGHEST_PROTOCOL)
        if pickle.loads(packed) == value:
            beside = path.with_name(f"{name}.{os.getpid()}")
            beside.write_bytes(packed)
            beside.replace(path)
    return value
