"""Options of a command that mean nothing together, or nothing without another: said, never passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from ..errors import Fault, HowdeepError, listed
from ..model.frozen import dataclass


@dataclass(frozen=True, slots=True)
class Pairs:
    """What goes with what, by the names of the options without their dashes."""

    apart: tuple[tuple[tuple[str, ...], tuple[str, ...], str], ...]
    """(options, options, why): none of the first does anything beside any of the second."""
    needs: tuple[tuple[str, tuple[str, ...]], ...]
    """(option, options): it does nothing without one of them."""


_PAGE = ("html", "pdf")
_FORMS = Pairs(apart=((("json",), _PAGE, "a page and JSON are two commands"),), needs=(("force", _PAGE),))
PROMISE = SHEET = _FORMS
"""Options of `promise make`, `show` and `changes`, and of the sheets."""
QUOTE = Pairs(
    apart=(
        *_FORMS.apart,
        (("compare", "annex", "shop-copy"), ("json",), "--json prints one whole quote with its evidence"),
    ),
    needs=_FORMS.needs,
)
"""Options of `quote`."""
LETTER = Pairs(
    apart=(*_FORMS.apart, (("scope", "only"), ("promise",), "a promise is of the job that it was made for")),
    needs=(*_FORMS.needs, ("date", _PAGE)),
)
"""Options of `letter`."""
ORDER = Pairs(
    apart=(*LETTER.apart, (("csv",), ("json",), "a table and JSON are two commands")),
    needs=(("force", (*_PAGE, "csv")),),
)
"""Options of `order`."""


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
                    yield Fault(
                        "", 0, 0, f"--{name} does nothing beside --{other}: {why}", f"leave out --{name} or --{other}"
                    )
    for name, others in pairs.needs:
        if name in given and not given & set(others):
            yield Fault(
                "", 0, 0, f"--{name} does nothing by itself", f"add {listed([f'--{other}' for other in others])}"
            )
