"""What a program that uses howdeep needs: open a shop, read a job, assess it, price it. `howdeep` itself names it all.

Everything handed out is a frozen value, and the same job, rules and prices give the same value. Nothing here prints,
asks or writes. Each function raises HowdeepError, which carries every fault at once with its place, and no other error
for what stands in a file.
"""

from __future__ import annotations

from pathlib import Path

from .assessment.session import Shop, open_shop
from .errors import Fault, HowdeepError
from .model.answer_kinds import Kind
from .model.job import OpenJob
from .model.results import Assessment, Belief, CheckValue, Decision, JobLine
from .model.terms import Rung
from .quote.build import build_quote
from .quote.jobs import asked_for
from .quote.values import Allowance, Quote, QuoteLine

__all__ = [
    "Allowance",
    "Assessment",
    "Belief",
    "CheckValue",
    "Decision",
    "Fault",
    "HowdeepError",
    "JobLine",
    "Kind",
    "OpenJob",
    "Quote",
    "QuoteLine",
    "Rung",
    "Shop",
    "assess_job",
    "open_shop",
    "quote_job",
    "read_job",
]


def read_job(path: str | Path, shop: Shop) -> OpenJob:
    """A job file read against the shop's rules: its engine with every figure that is known, and its answers.

    `values` of the job holds observation -> a word, a number in the observation's own unit (psi, in, V ...), or a tuple
    with one of them per cylinder, journal or valve, numbered from the front, None where not taken. Raises HowdeepError
    with every fault of the file as file, line, column, value and the nearest right spelling.
    """
    return shop.open_job(path)


def assess_job(job: OpenJob, shop: Shop, *, changes: bool = False) -> Assessment:
    """The whole answer for a job, as `howdeep assess` gives it.

    Chances are from 0 to 1 and are judgement written down, not measurements; money is Decimal in the currency of the
    shop's list, None where a price is missing; times are minutes. `decision.kind` is the kind of answer,
    `decision.job` the key of the job that it speaks of, `beliefs` the causes, likeliest first, `checks` the open
    checks, the most worthwhile first. `changes` fills `flips` as well: what else would change the answer, which takes
    some seconds.
    """
    return shop.assess(job, changes=changes)


def quote_job(answer: Assessment, shop: Shop, scope: Rung | None = None, *, only: bool = False) -> Quote:
    """The priced lines of a job with what may turn up, by the shop's list.

    Without `scope` and `only` it is the job that the answer speaks of; else the whole of a rung, or with `only` no more
    than what cures what was noticed at that depth. Amounts are Decimal, rounded half up to the cent, and None where a
    price is missing, which `missing` names. Raises HowdeepError where there is no such job.
    """
    return build_quote(shop.knowledge, answer, shop.prices, asked_for(shop.knowledge, answer, scope, only=only))
