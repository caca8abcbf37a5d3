"""Options of a command that mean nothing together, or nothing without another: said, never passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from .errors import Fault, HowdeepError, listed


@dataclass(frozen=True, slots=True)
class Pairs:
    """What goes with what, by the names of the options without their dashes."""

    apart: tuple[tuple[tuple[str, ...], tuple[str, ...], str], ...]
    """(options, options, why): none of the first does anything beside any of the second."""
    needs: tuple[tuple[str, tuple[str, ...]], ...]
    """(option, options): it does nothing without one of them."""


FORMS = ("html", "json", "letter", "order")
QUOTE = Pairs(
    apart=(
        (("scope", "only", "compare", "two-step", "annex", "shop-copy", *FORMS, "force", "promise", "show",
          "since"),
         ("approve",),
         "--approve only records a yes; give the paper a command of its own"),
        (("scope", "only", "compare", "two-step", "annex", "shop-copy", "letter", "order", "promise", "show",
          "date"),
         ("since",),
         "the change sheet is made against the promise as it stands"),
        (("scope", "only", "two-step", "promise", "date"), ("show",), "a stored promise is shown exactly as made"),
        (("json", "letter", "order"), ("html",), "--html writes the estimate"),
        (("letter", "order", "compare", "annex", "shop-copy"), ("json",),
         "--json prints one whole quote with its evidence"),
        (("order", "annex", "shop-copy", "two-step"), ("letter",), "the letter stands alone"),
        (("annex", "shop-copy", "two-step"), ("order",), "the order list stands alone"),
    ),
    needs=(("by", ("approve",)), ("how", ("approve",)), ("force", ("html",))),
)
"""Options of `quote`."""
SHEET = Pairs(
    apart=((("json", "proof"), ("html",), "--html writes both sheets"),
           (("proof",), ("json",), "--json prints both sheets")),
    needs=(("force", ("html",)),),
)
"""Options of `sheet`."""


def refuse_idle(pairs: Pairs, options: Mapping[str, object]) -> None:
    """Raises HowdeepError, one fault for each option given that would do nothing. `options` are name -> value; what is
    None, False or empty was not given."""
    given = {name for name, value in options.items() if value not in (None, False, "")}
    faults = list(dict.fromkeys(_idle(pairs, given)))
    if faults:
        raise HowdeepError(faults)


def _idle(pairs: Pairs, given: set[str]) -> Iterator[Fault]:
    for first, second, why in pairs.apart:
        for other in second:
            for name in first:
                if name in given and other in given:
                    yield Fault("", 0, 0, f"--{name} does nothing beside --{other}: {why}",
                                f"leave out --{name} or --{other}")
    for name, others in pairs.needs:
        if name in given and not given & set(others):
            yield Fault("", 0, 0, f"--{name} does nothing by itself",
                        f"add {listed([f'--{other}' for other in others])}")
