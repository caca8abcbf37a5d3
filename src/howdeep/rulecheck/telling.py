"""What the findings say of the causes on each engine, as the beliefs weigh it: answers of one question against one
another, signs that lower what they name, causes that no sign can prove, direct findings not marked so."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..beliefs.network import Network, Node, frame_of, readings_of, says_together
from ..beliefs.questions import Question, all_facts
from ..beliefs.waterfall import decibans, says_alone
from ..beliefs.evidence import Sign
from ..model.knowledge import Knowledge
from .base import Check, Complaint
from .subject import Subject
