"""Checks of the whole program, with what they share."""

import os
import sys

sys.dont_write_bytecode = False  # program and tests are compiled once, not by every worker and every command anew
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
