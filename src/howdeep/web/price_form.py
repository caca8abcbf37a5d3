"""A form of prices: what each field shows of the list, and what is saved of what was typed, figure by figure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.whole import locked
from ..job.write import clean_text
from ..model.asked import AskedFigure
from ..model.knowledge import Knowledge
from ..model.prices import KINDS_TAXED, PriceList
from ..pricing.answers import HERE, NEEDED, NONE, SAME, Answer, read_answer, unit_of
from ..pricing.money import MoneyError
from ..pricing.places import figure_at
from ..pricing.read import load_prices
from ..pricing.standing import Standing, is_own, standing
from ..pricing.typed import NoPrice
from ..pricing.write import put_figures
from ..show.price_notes import shown_figure
from .merge import WAS
from .saving import fault_lines

DO, FOR_ENGINE = "do.", "here."
"""`do.PLACE`: what is to become of the figure that stands there; `here.PLACE`: the price is for one engine alone."""
TAXED = "tax_on"
MOST = 60


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of a form."""

    place: str
    ask: str
    unit: str
    was: str
    """The shop's own figure as it stands; empty for an example and for none."""
    shown: str
    """What the field shows: what was typed and could not be taken, else `was`."""
    standing: Standing
    told: str
    """'yours, of 2026-05-01', 'example: USD 34.00'."""
    choices: tuple[tuple[str, str], ...]
    """What may be chosen instead of typing: (value, words)."""
    chosen: str
    fault: str
    taxed: tuple[tuple[str, bool], ...] = ()
    """Of the tax alone: what it can be charged on, and whether it is."""
    for_engine: bool | None = None
    """Whether the price is meant for one engine alone; None where that cannot be said."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of a form."""

    saved: int = 0
    back: dict[str, tuple[str, str]] = field(default_factory=dict)
    """Place -> (what was typed, why it was not saved)."""


def rows_of(prices: PriceList, figures: Iterable[AskedFigure], today: str, form: Mapping[str, str],
            taken: Taken | None = None, *, engine: str = "", typed: bool = False) -> list[Row]:
    """The fields of a form. With `typed` every field shows what was typed (the form expired); else those alone that
    came back. With an `engine`, a part's price may be for it alone."""
    made = []
    for figure in figures:
        place, back = figure.of, (taken.back if taken else {}).get(figure.of)
        own = own_text(prices, place)
        again = bool(back) or typed
        ticked = taxed_of(form) if again and place == "tax_percent" else prices.tax_on
        state = standing(prices, place, today)
        made.append(Row(
            place, figure.ask, unit_of(prices, place), own,
            back[0] if back else form.get(place, own) if typed else own, state, _told(prices, place, state),
            _choices(prices, place, state), form.get(DO + place, "") if again else "", back[1] if back else "",
            tuple((kind, kind in ticked) for kind in KINDS_TAXED) if place == "tax_percent" else (),
            (FOR_ENGINE + place in form if again else False) if engine and place.startswith("parts.") else None))
    return made


def own_text(prices: PriceList, place: str) -> str:
    """The shop's own figure as a field shows it."""
    return figure_at(prices, place).split()[-1] if is_own(prices, place) else ""


def taxed_of(form: Mapping[str, str]) -> tuple[str, ...]:
    """What the tax was ticked to be on."""
    return tuple(kind for kind in KINDS_TAXED if f"{TAXED}.{kind}" in form)


def _told(prices: PriceList, place: str, state: Standing) -> str:
    if state == "missing":
        return "no price"
    if state == "example":
        return f"example, not yours: {shown_figure(prices, place).removesuffix(', example')}"
    return f"yours, of {prices.mark(place).date}" + (": old" if state == "old" else "")


def _choices(prices: PriceList, place: str, state: Standing) -> tuple[tuple[str, str], ...]:
    stands = shown_figure(prices, place).rpartition(", ")[0]
    if state == "old":
        return (("", "leave its date"), (SAME, f"{stands} still holds today"))
    if state != "example":
        return ()
    none = () if place in NEEDED else ((NONE, "I have no such price"),)
    return (("", "leave it an example"), (SAME, f"{stands} is my price, too"), *none)


def save_prices(path: Path, knowledge: Knowledge, places: Sequence[str], form: Mapping[str, str], today: str, *,
                engine: str = "") -> Taken:
    """Save what a form holds for these places: what can be taken is, the rest comes back with the reason. A figure that
    somebody else saved meanwhile is not overwritten unseen.

    Raises HowdeepError where the file cannot be read or written, or is none that the page may write.
    """
    refuse_odd(path)
    with locked(path):
        answers, back = _read(load_prices(path, knowledge), places, form, today, engine)
        saved = 0
        try:
            _put(path, knowledge, answers)
            saved = len(answers)
        except HowdeepError:
            for answer in answers:  # one of them is refused by the list as a whole: the rest is saved all the same
                try:
                    _put(path, knowledge, [answer])
                    saved += 1
                except HowdeepError as error:
                    back[answer.asked] = (_typed(form, answer.asked), " ".join(fault_lines(error)))
    return Taken(saved, back)


def _put(path: Path, knowledge: Knowledge, answers: Sequence[Answer]) -> None:
    others = {key: value for answer in answers for key, value in answer.others.items()}
    if answers:
        put_figures(path, knowledge, {answer.place: answer.figure for answer in answers}, others=others or None)


def _typed(form: Mapping[str, str], place: str) -> str:
    return " ".join(clean_text(form.get(place, "")).split())[:MOST]


def refuse_odd(path: Path) -> None:
    """Raise HowdeepError for a file that the page's forms do not write: a link, or no regular file."""
    if path.is_symlink():
        raise HowdeepError(Fault(path.name, 0, 0, "is a link, and is not followed by the page"))
    if path.exists() and not path.is_file():
        raise HowdeepError(Fault(path.name, 0, 0, "is no regular file; it is not written to"))


def _read(prices: PriceList, places: Sequence[str], form: Mapping[str, str], today: str,
          engine: str) -> tuple[list[Answer], dict[str, tuple[str, str]]]:
    answers: list[Answer] = []
    back: dict[str, tuple[str, str]] = {}
    for place in places:
        text = _typed(form, place)
        was, now = form.get(WAS + place, ""), own_text(prices, place)
        meant = _meant(prices, place, text, was, form)
        if place not in form or meant is None:
            continue
        if now not in (was, text) or (place == "tax_percent" and _tax_moved(prices, form)):
            back[place] = (text, f"Somebody else saved '{now or 'nothing'}' here meanwhile. Save again to put yours "
                                 "in.")
            continue
        if not meant:
            back[place] = (text, "Type the percentage, too.")
            continue
        try:
            here = f" {HERE}" if engine and FOR_ENGINE + place in form and place.startswith("parts.") else ""
            answers.append(replace(read_answer(prices, place, meant + here, today, engine=engine), asked=place))
        except (NoPrice, MoneyError) as error:
            back[place] = (text, f"{str(error)[:1].upper()}{str(error)[1:]}.")
    return answers, back


def _meant(prices: PriceList, place: str, text: str, was: str, form: Mapping[str, str]) -> str | None:
    """What a field says, as it would be typed in a terminal; None where nothing was changed, empty where a tax is on
    something else and there is no percentage."""
    chosen = form.get(DO + place, "")
    said = (text or NONE) if text != was else chosen if chosen in (SAME, NONE) else None
    if place != "tax_percent" or said == NONE:
        return said
    if said not in (None, SAME) and " on " in str(said):
        return said
    ticked = taxed_of(form)
    if said is None and list(ticked) == form.get(WAS + TAXED, "").split():
        return None
    percent = figure_at(prices, place) if said == SAME else said or was
    return f"{percent} on {', '.join(ticked) or 'nothing'}" if percent else ""


def _tax_moved(prices: PriceList, form: Mapping[str, str]) -> bool:
    """Whether somebody else changed what the tax is on, and to something else."""
    now = set(prices.tax_on)
    return now != set(form.get(WAS + TAXED, "").split()) and now != set(taxed_of(form))
