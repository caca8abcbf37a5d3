"""The kinds of answer, and the verdicts on what the work is worth."""

from __future__ import annotations

from typing import Literal

Kind = Literal["do_not_run", "promise", "check_first", "look_inside", "begin_with", "can_wait", "stop"]
"""Kinds of answer, in their order of right of way."""
KINDS: tuple[Kind, ...] = ("do_not_run", "promise", "check_first", "look_inside", "begin_with", "can_wait", "stop")
Worth = Literal["worth it", "ask the owner", "beyond repair", "replacement costs less"]
"""Verdicts of the comparison of what the work costs with what the machine is worth and with another engine."""
