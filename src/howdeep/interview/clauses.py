"""A customer's words as clauses of telling words: small letters, without accents, endings and little words.

What takes several words to say is brought to the one word that says it ("ticking over", "with my foot off"); every denial
is NOT, every joint of two half clauses AND, what is said of earlier days ONCE.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from .amounts import with_amounts
from .stems import root, small_letters

NOT, AND, ONCE = "not", "&", "formerly"
END = "$"
"""What stands behind the last word of a clause."""


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_FILLERS = _words(
    "a an the it its is are was were be been am i ive im id me my we weve us our he hes his she shes her they them their "
    "this that thats these those you youve your there theres of for to so if at in on from with by as has have had having "
    "do does did can could will would get gets got getting very quite really bit some always all about engine motor "
    "tractor boat car truck lorry van machine thing again also then every time when whenever while where sort kind think "
    "reckon guess suppose mind"
)
_NOT = _words(
    "no not never none nor neither without hardly dont doesnt dosnt doesn didnt didn isnt isn wasnt arent wont won cant "
    "cannot couldnt wouldnt wouldn hasnt havent hadnt aint nothing"
)
_SOFT = _words("and but or though although because")
_AND_NOT = _words("or nor")
_REACH = 4
"""So many words back a denial is looked for that an "or" takes up (judgement)."""

_NOT_BEFORE = "".join(
    rf"(?<!\b{word} {who} )"
    for word in ("when", "once", "as", "if", "until", "till", "after", "before")
    for who in ("it", "she", "he")
)
"""A condition is no complaint: "when it gets hot"."""
_PULL, _SHUT = " pull ", " overrun "
_TOLD = tuple(
    (re.compile(pattern), word)
    for pattern, word in (
        (r"\btick(?:s|ing|ed)?[ -]?over\b", "idle"),
        (r"\bthan (?:it |she |he )?(?:ever )?used to\b(?: be)?", "than before"),
        (r"\b(?:as|like|what) (?:it |she |he )?used to\b(?: be)?", "as before"),
        (r"\bused to\b", ONCE),
        (
            r"\bonce (?=(?:its|it|shes|she|hes|he|youve|you|ive|im|i|the|everything|warm|hot|cold|started|running|going)\b)",
            "when ",
        ),
        (r"\b(?:once|twice) or twice\b", "time#2"),
        (r"\b(?:no longer|not any ?more)\b", "not"),
        (
            r"\b(?:stopped|quit|ceased) (?=(?:smok|leak|knock|rattl|drip|us|burn|miss|overheat|boil|los|tapp)\w*ing\b)",
            "not ",
        ),
        (r"\b(?:a bit of an?|a bit of|a touch of|sort of|kind of)\b", ""),
        (
            r"\b(?:from that day(?: on)?|from then on|since then|ever since(?= *(?:[.,;!?\n]|and\b|but\b|$)))(?!\w)",
            "eversince",
        ),
        (r"\bran (?=(?:well|fine|sweet|sweetly|ok|lovely|good|great|beautifully|perfectly)\b)", f"{ONCE} run "),
        (r"\bno go(?: in it)?(?= *(?:[.,;!?\n]|and\b|but\b|left\b|at all\b|$))", "nopower"),
        (r"\b(?:have|has|had|having|need|needs|got) to\b", "must"),
        (r"\bnothing (?=(?:on|at|until) )", "zero "),
        (
            r"\b(?:hardly|barely|scarcely) (?:ever |even |will )?(?=(?:start|catch|fire|run|go)(?:s|es|ing)?\b)",
            "barely ",
        ),
        (
            r"\b(?:wont|will not|cant|cannot|can not|could not|couldnt|wouldnt) (?:even )?turn\b"
            r"(?! (?:over|on|off|the key|key|it off|it on)\b)",
            "wontturn",
        ),
        (
            r"\b(?:load (?:comes |goes |is )?off|tak(?:es|e|ing) (?:the |its )?load off|los(?:es|e|ing) (?:the |its )load)\b",
            "loadoff",
        ),
        (r"\b(?:each|every) (?:turn|rev|revolution|beat|stroke)\b", "everyturn"),
        (r"\b(?:(?:each|every) other|(?:each|every) second|once in two) (?:turn|rev|revolution)s?\b", "otherturn"),
        (r"\b(last|this) year\b", r"\1year"),
        (r"\bin(?:to)? the red\b", "redzone"),
        (r"\b(?:does|do|did|doing) nothing\b", "doesnothing"),
        (r"\bnothing happen(?:s|ed)\b", "nothinghappens"),
        (
            r"\bon all (?:of them|cylinders|the cylinders|(?:two|three|four|five|six)(?: cylinders)?|its cylinders)\b",
            "oncylinders",
        ),
        (r"\bdid (?:the |my |its )(?=(?:valves|rings|points|plugs|bearings|injectors|timing|head)\b)", "done "),
        (r"\b(?:oil can|can of oil|gallon can|oilcan)\b", "oilcan"),
        (r"\bquite an? (?:bit|lot)\b", "lot"),
        (
            r"\b(?:all the time|constant(?:ly)?|non ?stop|continual(?:ly)?|continuous(?:ly)?|all day(?: long)?)\b",
            "constantly",
        ),
        (
            r"\ba (?:bit|little|touch|wisp|trace|hint)(?: of)?(?: an?)? (?=(?:blue|blu|bluish|blueish|white|whitish|black|grey)\b)",
            "slight ",
        ),
        (
            r"\b(?:never|wont|doesnt|dont|does not|will not|hardly|barely) (?:ever |really |even |properly )?(?:gets? |runs? |comes? )?"
            r"(?:properly |really |up )?warm(?:s|ed)?(?: up)?\b",
            "stayscold",
        ),
        (
            _NOT_BEFORE
            + r"\b(?:gets?|getting|goes|running|runs) (?:too |so |very |really |far too |very very |quite )*hot\b"
            r"(?! to touch| enough)",
            "overheat",
        ),
        (r"\b(?:loads?|lots?|tons|bags|masses|clouds and clouds) of\b", "much"),
        (
            r"\b(?:wide open throttle|full throttle|full bore|flat out|throttle (?:right |wide |fully )open)\b",
            "flatout",
        ),
        (
            r"\b(?:(?:down|descending|descend) (?:a |the |that |any )?(?:steep |long |big )?hills?|downhill|"
            r"(?:tak(?:e|es|ing)|took|with) (?:my |your |the |a )?(?:foot |throttle |gas |pedal )(?:right )?off|"
            r"(?:lift(?:s|ed|ing)?|let(?:s|ting)?|ease[sd]?|easing|back(?:s|ed|ing)?) (?:(?:my |your |the )?foot )?(?:right )?off|"
            r"(?:shut(?:s|ting)?|clos(?:e|es|ed|ing)) (?:the )?throttle|throttle (?:is |was )?(?:shut|closed)|"
            r"(?:come |came |coming )?off the (?:throttle|gas|pedal|power)|closed throttle)\b(?: the throttle)?",
            _SHUT,
        ),
        (
            r"\b(?:under (?:a |any |heavy |full )?load|work(?:s|ed|ing)? (?:it |her |him )?(?:really |very )?hard|under way|underway|"
            r"(?:put(?:s|ting)?|get) (?:your|my|the|a) foot (?:right )?down|foot (?:right )?(?:down|to the floor)|"
            r"(?:giv(?:e|es|ing)|gave) (?:it|her|him) (?:(?:a bit|plenty) of |the |some |full )?(?:throttle|gas|welly|beans|stick|some)|"
            r"(?:open(?:s|ing|ed)?) (?:it |her |him |the throttle )(?:right )?(?:up|out)|open(?:s|ing|ed)? up|"
            r"(?:open(?:s|ing|ed)?|snap(?:s|ping)?) (?:up )?(?:the )?throttle|accelerat\w+|step(?:s|ping)? on it|"
            r"up (?:a |the |any |steep )*(?:hills?|bank|incline)s?|going up ?hill|in (?:the )?heavy (?:going|ground)|against the tide)\b",
            _PULL,
        ),
        (
            r"\b(?:(?:get|gets|getting|got|keep) (?:it |her |him |the engine |this )(?:to )?(?:back )?(?:go|going|started|start|run|running)|"
            r"start(?:s|ing|ed)?[ -]?up|fir(?:e|es|ing|ed) (?:it |her |him |the engine |straight )?up|cold[ -]?start(?:s|ing|ed)?)\b",
            "start",
        ),
        (r"\bfirst thing(?: in the morning| of a morning)?\b", "morning"),
    )
)
_STOPS = re.compile(r"([,;:!?\n()]|\.(?!\d)|\s-+\s)")
_PARTING = ",.?:;!()\n"
"""What parts two clauses, the more the later it stands here."""
_LATER = re.compile(
    r"\s*(?:when|whenever|while|once|especially|mostly|mainly|worst|worse|until|till|only|just|usually|like)\b"
)
_DESCRIBING = frozenset(
    root(word)
    for word in (
        "blue black white grey blueish bluish whitish blackish blu hot cold idle pull start morning loud heavy thick light much just "
        "mostly mainly worst deep dull sharp low hollow bad big huge small thin sweet oil now constantly sudden slowly steady "
        "slight often lot"
    ).split()
) | {AND}


_COLOURS = frozenset(root(word) for word in ("blue", "black", "white", "grey"))


def clauses(text: str) -> list[list[str]]:
    """The clauses of a text as their telling words; a time or a colour that stands behind a comma belongs to what it is said
    of ("smokes blue, when pulling"; "Smoke? Black."), and the "no" behind a question denies it."""
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
    plain = small_letters(text)
    for pattern, word in _TOLD:
        plain = pattern.sub(word, plain)
    return with_amounts(plain)


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
    for back in range(place - 1, max(-1, place - 3), -1):
        if NOT in words[back] or ONCE in words[back]:
            return True
        if not _BETWEEN & words[back]:
            return False
    return False


_BETWEEN = frozenset(
    root(word)
    for word in (
        "any much ever even blue black white bad odd strange more see find sign say think reckon notice hear seem real "
        "single drop serious particular funny trouble problem touch hint trace known"
    ).split()
)
"""What may stand between a denial and what it denies."""


def may_stand_between(word: frozenset[str]) -> bool:
    """Whether a word may stand between a denial and what is denied."""
    return bool(_BETWEEN & word)


__all__ = ["AND", "END", "NOT", "ONCE", "brought_together", "clauses", "denied", "may_stand_between", "telling"]
