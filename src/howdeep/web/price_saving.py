"""What is saved of a form of prices, figure by figure: what can be taken is, the rest comes back with the reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ..errors import Fault, HowdeepError
from ..files.strict_yaml import Document, read
from ..files.whole import locked
from ..job.write import clean_text
from ..model.knowledge import Knowledge
from ..model.prices import PriceList
from ..pricing.answers import HERE, NONE, SAME, Answer, read_answer
from ..pricing.doubtful import Doubtful, doubtful, with_sure
from ..pricing.money import MoneyError
from ..pricing.places import figure_at
from ..pricing.read import load_prices
from ..pricing.typed import NoPrice
from ..pricing.write import changed, put_figures, text_with
from ..show.price_check_text import in_short
from .merge import WAS
from .price_form import DO, FOR_ENGINE, PRICED, SLIP, SURE, TAXED, WHY, Back, Taken, own_text, taxed_of
from .saving import fault_lines

MOST = 60


def save_prices(
    path: Path, knowledge: Knowledge, places: Sequence[str], form: Mapping[str, str], today: str, *, engine: str = ""
) -> Taken:
    """Save what a form holds for these places: what can be taken is, the rest comes back with the reason. A figure that
    somebody else saved meanwhile is not overwritten unseen. One that can hardly be comes back with what may have been
    meant: a slip is chosen, or it is ticked to be right, which the list then says (`sure`). What the list says of a
    figure that is changed is taken out.

    Raises HowdeepError where the file cannot be read or written, or is none that the page may write.
    """
    refuse_odd(path)
    with locked(path):
        document = read(path)
        answers, back = _read(load_prices(path, knowledge), places, form, today, engine)
        taken, settled = _doubted(document, knowledge, answers, places, form, today, back)
        saved = 0
        try:
            _put(path, knowledge, taken, settled)
            saved = len({*(answer.place for answer in taken), *settled})
        except HowdeepError:
            for answer in taken:  # one of them is refused by the list as a whole: the rest is saved all the same
                try:
                    _put(
                        path,
                        knowledge,
                        [answer],
                        {place: why for place, why in settled.items() if place == answer.place},
                    )
                    saved += 1
                except HowdeepError as error:
                    back[answer.asked] = Back(_typed(form, answer.asked), " ".join(fault_lines(error)))
    return Taken(saved, back)


def _doubted(
    document: Document,
    knowledge: Knowledge,
    answers: Sequence[Answer],
    places: Sequence[str],
    form: Mapping[str, str],
    today: str,
    back: dict[str, Back],
) -> tuple[list[Answer], dict[str, str]]:
    """(what is to be saved, place -> why its figure is right although it is questioned); what is doubted and not ticked
    goes `back`."""
    figures = {answer.place: answer.figure for answer in answers}
    others = {key: value for answer in answers for key, value in answer.others.items()}
    after = changed(document.value, figures, {**others, **with_sure(document.value, figures, {})})
    asked = {answer.place: answer.asked for answer in answers}
    taken, settled = {answer.place: answer for answer in answers}, {}
    for place, doubt in doubtful(document, after, knowledge).items():
        told = asked.get(place, place)
        if told not in places or told in back:
            continue
        if SURE + told in form:
            settled[place] = _typed(form, WHY + told) or f"looked at again on {today}"
        elif place in taken:
            refused = _refused(document, knowledge, taken.pop(place))
            back[told] = Back(doubt.figure, refused) if refused else back_of(doubt)
    return list(taken.values()), settled


def _refused(document: Document, knowledge: Knowledge, answer: Answer) -> str:
    """Why a figure cannot be at all; empty where it can hardly be."""
    try:
        text_with(document, knowledge, {answer.place: answer.figure}, answer.others)
    except HowdeepError as error:
        return " ".join(fault_lines(error))
    return ""


def back_of(doubt: Doubtful) -> Back:
    """A figure that can hardly be, as a form shows it."""
    return Back(
        doubt.figure.split()[-1] if doubt.figure else "",
        f"Can hardly be: {in_short(doubt.why).removeprefix(doubt.place).strip()}.",
        doubt.slips,
        may_keep=True,
    )


def _put(path: Path, knowledge: Knowledge, answers: Sequence[Answer], settled: Mapping[str, str]) -> None:
    figures = {answer.place: answer.figure for answer in answers}
    others = {key: value for answer in answers for key, value in answer.others.items()}
    others |= with_sure(read(path).value, figures, settled)
    if figures or others:
        put_figures(path, knowledge, figures, others=others or None)


def _typed(form: Mapping[str, str], place: str) -> str:
    return " ".join(clean_text(form.get(place, "")).split())[:MOST]


def refuse_odd(path: Path) -> None:
    """Raise HowdeepError for a file that the page's forms do not write: a link, or no regular file."""
    if path.is_symlink():
        raise HowdeepError(Fault(path.name, 0, 0, "is a link, and is not followed by the page"))
    if path.exists() and not path.is_file():
        raise HowdeepError(Fault(path.name, 0, 0, "is no regular file; it is not written to"))


def _read(
    prices: PriceList, places: Sequence[str], form: Mapping[str, str], today: str, engine: str
) -> tuple[list[Answer], dict[str, Back]]:
    answers: list[Answer] = []
    back: dict[str, Back] = {}
    for place in (place for place in places if place in form and place.partition(".")[0] in PRICED):
        text = _typed(form, SLIP + place) or _typed(form, place)
        was, now = form.get(WAS + place, ""), own_text(prices, place)
        meant = _meant(prices, place, text, was, form)
        if meant is None:
            continue
        if now not in (was, text) or (place == "tax_percent" and _tax_moved(prices, form)):
            back[place] = Back(
                text, f"Somebody else saved '{now or 'nothing'}' here meanwhile. Save again to put yours in."
            )
            continue
        if not meant:
            back[place] = Back(text, "Type the percentage, too.")
            continue
        try:
            here = f" {HERE}" if engine and FOR_ENGINE + place in form and place.startswith("parts.") else ""
            answers.append(replace(read_answer(prices, place, meant + here, today, engine=engine), asked=place))
        except (NoPrice, MoneyError) as error:
            back[place] = Back(text, f"{str(error)[:1].upper()}{str(error)[1:]}.")
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


__all__ = ["back_of", "refuse_odd", "save_prices"]
