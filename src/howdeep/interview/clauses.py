"""A customer's words as clauses of telling words: small letters, without accents, endings and little words.

What takes several words to say is one word, and so is an amount; every denial is NOT, every joint of two half clauses
AND, what is said of earlier days ONCE.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from .amounts import with_amounts
from .sayings import ONCE, one_word_each
from .stems import root, small_letters

NOT, AND, END = "not", "&", "$"
"""A denial, the joint of two half clauses, and what stands behind the last word of a clause."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_FILLERS = _words(
    "a an the it its is are was were be been am i ive im id me my we weve us our he hes his she shes her they "
    "them their this that thats these those you youve your there theres of for to so if at in on from with by as "
    "has have had having do does did can could will would get gets got getting very quite really bit some always "
    "all about engine motor tractor boat car truck lorry van machine thing again also then every time when "
    "whenever while where sort kind think reckon guess suppose mind itll itd youll youd theyll theyd thatll"
)
_NOT = _words(
    "no not never none nor neither without hardly dont doesnt dosnt doesn didnt didn isnt isn wasnt arent wont won "
    "cant cannot couldnt wouldnt wouldn hasnt havent hadnt aint nothing nothings"
)
_SOFT = _words("and but or though although because")
_AND_NOT = _words("or nor")
_REACH = 4
"""So many words back a denial is looked for that an "or" takes up (judgement)."""

_STOPS = re.compile(r"([,;:!?\n()]|\.(?!\d)|\s-+\s)")
_PARTING = ",.?:;!()\n"
"""What parts two clauses, the more the later it stands here."""
_LATER = re.compile(
    r"\s*(?:when|whenever|while|once|especially|mostly|mainly|worst|worse|until|till|only|just|usually|like|soon|"
    r"as soon)\b"
)
"""What begins words that belong to those before the comma."""
_DESCRIBING = frozenset(
    root(word)
    for word in _words(
        "blue black white grey blueish bluish whitish blackish blu hot cold idle pull start morning loud heavy thick "
        "light much just mostly mainly worst deep dull sharp low hollow bad big huge small thin sweet oil now "
        "constantly sudden slowly steady slight often lot"
    )
) | {AND}
"""What only says how much, of what colour, when or how long."""
_COLOURS = frozenset(root(word) for word in ("blue", "black", "white", "grey"))


def clauses(text: str) -> list[list[str]]:
    """The clauses of a text as their telling words; a time or a colour that stands behind a comma belongs to what it
    is said of ("smokes blue, when pulling"; "Smoke? Black."), and the "no" behind a question denies it."""
    made: list[list[str]] = []
    stop, opening = "!", False
    for piece in _STOPS.split(brought_together(text)):
        if _STOPS.fullmatch(piece):
            stop = max(stop, "," if "-" in piece else piece, key=_PARTING.find)
            continue
        words = list(_telling(piece))
        if not words:
            continue
        few = NOT not in words and ONCE not in words and len([word for word in words if word != AND]) <= 2
        later = few and _LATER.match(piece) is not None
        if made and stop == "?" and words[0] == NOT and len(words) <= 2:
            made[-1].insert(0, NOT)
        elif made and opening and stop == ",":  # "When it is hot, it knocks"
            made[-1].extend(words)
            opening = False
        elif (
            made
            and ((few and later and stop == ",") or (stop in ",.?" and _describes(words)))
            and not (_COLOURS & set(words) and _COLOURS & set(made[-1]))
        ):
            made[-1].extend(words)
        else:
            made.append(words)
            opening = later and stop != ","
        stop = ","
    return made


def _describes(words: Sequence[str]) -> bool:
    """Whether a few words say no more than how much, what colour, when or how long."""
    return len(words) <= 3 and all(word in _DESCRIBING or "#" in word for word in words)


def telling(text: str) -> list[str]:
    """The telling words of a few words, as they stand in a phrase of the rule base."""
    return list(_telling(text))


def brought_together(text: str) -> str:
    """A text in small letters in which one word says what several did, and one an amount."""
    return with_amounts(one_word_each(re.sub(r"[^\S\n]+", " ", small_letters(text))))


def _telling(clause: str) -> Iterator[str]:
    past: list[str] = []
    for word in re.findall(r"[a-z]+#\d+|[a-z0-9]+", clause):
        if word in _AND_NOT and NOT in past[-_REACH:]:
            told = NOT  # "no smoke or noise"
        elif word in _NOT:
            told = NOT
        elif word in _FILLERS:
            continue
        else:
            told = AND if word in _SOFT else ONCE if word == ONCE else word if "#" in word else root(word)
        past.append(told)
        yield told


def denied(words: Sequence[frozenset[str]], place: int) -> bool:
    """Whether the word at a place of a clause is denied, or said of earlier days."""
    if NOT in words[place]:
        return False
    for back in range(place - 1, max(-1, place - 4), -1):
        if NOT in words[back] or ONCE in words[back]:
            return True
        if not _BETWEEN & words[back]:
            return False
    return False


_LITTLE = frozenset(map(root, _words("any much ever even real proper want more")))
"""What may stand between the "not" of a phrase and what it denies."""
_BETWEEN = _LITTLE | frozenset(
    root(word)
    for word in _words(
        "blue black white bad odd strange see find sign say notice hear seem single drop serious particular funny "
        "trouble problem touch hint trace known must need add put"
    )
)
"""What may stand between a denial and what it denies."""


def may_stand_between(word: frozenset[str]) -> bool:
    """Whether a word may stand between the "not" of a phrase and what it denies."""
    return bool(_LITTLE & word)


__all__ = ["AND", "END", "NOT", "ONCE", "brought_together", "clauses", "denied", "may_stand_between", "telling"]
