"""Writes docs/letters.md, five letters as the program writes them: python docs/make_letters.py

A test holds the page to the program and to the reading level of an eighth grade. Customers, engines and prices are
invented.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from howdeep.assessment.session import Shop, open_shop
from howdeep.knowledge.where import shipped_cases
from howdeep.quote.build import build_quote
from howdeep.quote.estimate import estimate_of
from howdeep.show.estimate_words import TITLES
from howdeep.show.paper_parts import Letter, letter_of, letter_parts

PAGE = Path(__file__).with_name("letters.md")
CASES = (
    "two_neighbours_down_together_are_the_strip_of_gasket_between_them",
    "a_magneto_that_does_not_click_and_loose_big_ends_are_two_faults_of_one_engine",
    "a_slap_that_goes_when_warm_can_wait",
    "a_true_gauge_at_nothing_stops_a_quiet_engine",
    "worn_rings_guides_and_mains_of_one_tractor_are_one_refresh",
)
DATE = "2026-11-29"
HEAD = """\
# Five letters

What `howdeep letter JOB` writes for five worked cases, made by `docs/make_letters.py`. Customers, engines and
prices are invented. A test holds each to the reading level of an eighth grade (Flesch-Kincaid), the customer's own
words left out.
"""


def letters(shop: Shop) -> Iterator[tuple[str, str, Letter]]:
    """(case, title of the paper, letter) of each case of the page."""
    for case in CASES:
        answer = shop.assess(shop.open_job(shipped_cases() / f"{case}.yaml"), flips=False)
        quote = build_quote(shop.knowledge, answer, shop.prices)
        estimate = estimate_of(shop.knowledge, answer, quote, shop.prices, shop.settings, date=DATE)
        yield case, TITLES[estimate.paper], letter_of(shop.knowledge, answer, estimate)


def page(made: Iterator[tuple[str, str, Letter]]) -> str:
    """The page as text."""
    parts = [HEAD]
    for case, title, letter in made:
        parts.append(f"## {title} (`{case}`)\n")
        parts += [f"**{line}**\n" for line in letter.head]
        for heading, lines in letter_parts(letter):
            parts.append(f"### {heading}\n")
            parts += [f"{'> ' if heading == 'What you told us' else '- '}{line}" for line in lines] + [""]
        parts += [f"{line}: ____________ Date: ________\n" for line in letter.sign]
    return "\n".join(parts)


if __name__ == "__main__":
    PAGE.write_text(page(letters(open_shop(example_prices=True))), encoding="utf-8")
    print(f"Written: {PAGE}")
