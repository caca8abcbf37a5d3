"""What takes several words to say, brought to the one word that says it: "ticking over" is `idle`, "with my foot off"
is `overrun`, "under load" is `pull`. The same is done to the phrases of the rule base, so that either may be written.

A way of saying belongs here where it says the same of every part of an engine; what says one answer to one question
is a phrase of the rule base.
"""

from __future__ import annotations

import re

ONCE = "formerly"
"""What is said of earlier days."""


def _either(*ways: str) -> str:
    return rf"\b(?:{'|'.join(ways)})\b"


_IT, _THE, _END = "(?:it|she|he|her|him)", "(?:the |my |your |its |a )?", r"(?= *(?:[.,;!?\n]|and\b|but\b|$))"
_COLOUR = r"(?=(?:blue|blu|bluish|blueish|white|whitish|black|grey)\b)"
_NOT_BEFORE = "".join(
    rf"(?<!\b{word} {who} )"
    for word in ("when", "once", "as", "if", "until", "till", "after", "before")
    for who in ("it", "she", "he")
)
"""A condition is no complaint: "when it gets hot"."""
_WILL_NOT_START = (
    r"((?:(?:wont|will not|doesnt|does not|didnt|cant|cannot|couldnt|never|refuses to) (?:even )?(?:start|fire|catch)"
    r"|(?:crank|spin|swing)s?(?:ing)?(?: it| her| him)?|turn(?:s|ing)? (?:it |her |him )?over)"
    r"(?: at all| up| now| over)?[,;:.]? (?:(?:and|but|with|theres|there is|there was) ){0,2})"
)
"""What does not start and does not smoke says nothing of the smoke of an engine that runs."""
_WAYS: tuple[tuple[str, str], ...] = (
    # what is asked, and what is said in figures of speech
    (
        r"\1",
        r"(^|[.,;!?\n] *|\b(?:and|but|or) )(?:is|are|could|can|might|would|do|does|has|have) "
        r"(?:you think|it|the|there|that|a|be|have|been|got|block|head|engine| )*\bcrack\w*[^.,;!?\n]*\?",
    ),
    (
        "no smoke",
        r"\b(?:no|not|never|without|nor|hardly|dont|doesnt|didnt|isnt|wasnt|wont|hasnt|aint)"
        r"(?: (?:even|ever|so much as|blow|make|give|throw|see|show|have|had|a|one|any|single)){0,4} "
        r"(?:puff|wisp|trace|whiff|hint|breath)s? of (?:(?:blue|white|black|grey|any) )?smoke\b",
    ),
    (
        r"\1nosmoke",
        _WILL_NOT_START + r"(?:no|not any|without(?: any)?|nor any) smoke\b"
        r"(?! (?:when|once|on|under|at|while|after|if) (?!(?:\w+ )?(?:crank|turn|spin|try|swing|press)))",
    ),
    (
        "ashore",
        r"\bon the hard(?= *(?:[.,;!?\n]|$)| (?:and|but|since|for|over|all|with|in|at|this|last|before|until|now|"
        r"when|she|he|it|i|we|the|from|by|after|because|so|then|there|here|next|beside|under|two|three|is|was|has|had)\b)",
    ),
    (
        "not everopened",
        r"\b(?:never|not) (?:ever )?been (?:opened|touched|apart)(?: up)?"
        r"(?= *(?:[.,;!?\n]|$)| (?:and|but|since new|inside|in (?:its|her|his) life|that (?:i|we|anyone)|as far as)\b)",
    ),
    ("undercover", r"(?<![/\w])under[ -]cover\b"),
    (
        r"\1 canister",
        r"\b(the|a|my|his|her|jerry|spray|petrol|diesel|fuel|water|paraffin) can"
        r"(?= (?:(?:was|is|had|has|been|that|which|out) )*(?:left|stood|standing|stands|sat|sitting|kept|outside)\b)",
    ),
    (
        "want ",
        r"\b(?:can|could|would|will) (?:you|someone|somebody) (?:please )?"
        r"(?=(?:set|adjust|fit|change|replace|put|rebuild|reset|gap|clean|grind|do)\b)",
    ),
    # speed, load and throttle
    ("idle", r"\btick(?:s|ing|ed)?[ -]?overs?\b"),
    (
        "flatout",
        _either(
            "wide open throttle", "full throttle", "full bore", "flat out", "throttle (?:right |wide |fully )?open"
        ),
    ),
    (" ", r"\blike water\b"),
    ("asever", _either("as (?:(?:well|strong|strongly|good) )?(?:as )?(?:ever|always)")),
    (
        "loadoff",
        _either(
            "(?:(?:with|at|on|under) )?no load",
            "without (?:a |any |the )?load",
            "off load",
            "load (?:comes |goes |is )?off",
            f"tak(?:es|e|ing) {_THE}load off",
            f"los(?:es|e|ing) {_THE}load",
        ),
    ),
    (
        " overrun ",
        _either(
            "(?:down|descending|descend) (?:a |the |that |any )?(?:steep |long |big )?hills?",
            "downhill",
            f"(?:tak(?:e|es|ing)|took|with) {_THE}(?:foot |throttle |gas |pedal )(?:right )?off(?: the throttle)?",
            f"(?:lift(?:s|ed|ing)?|let(?:s|ting)?|ease[sd]?|easing|back(?:s|ed|ing)?) (?:{_THE}foot )?(?:right )?off"
            "(?: the throttle)?",
            "(?:shut(?:s|ting)?|clos(?:e|es|ed|ing)) (?:the )?throttle",
            "throttle (?:is |was )?(?:shut|closed)",
            "(?:come |came |coming )?off the (?:throttle|gas|pedal|power)",
            "closed throttle",
        ),
    ),
    (
        " pull ",
        _either(
            "under (?:a |any |heavy |full )?load",
            f"work(?:s|ed|ing)? (?:{_IT} )?(?:really |very )?hard",
            "under ?way",
            f"(?:put(?:s|ting)?|get) {_THE}foot (?:right )?down",
            "foot (?:right )?(?:down|to the floor)",
            f"(?:giv(?:e|es|ing)|gave) {_IT} (?:(?:a bit|plenty) of |the |some |full )?"
            "(?:throttle|gas|welly|beans|stick|some)",
            f"open(?:s|ing|ed)? (?:{_IT}|the throttle) (?:right )?(?:up|out)",
            "open(?:s|ing|ed)? up",
            "(?:open(?:s|ing|ed)?|snap(?:s|ping)?) (?:up )?(?:the )?throttle",
            r"accelerat\w+",
            "step(?:s|ping)? on it",
            "back on the (?:gas|throttle|pedal|power)",
            "up (?:a |the |any |steep )*(?:hill|bank|incline)s?",
            "going up ?hill",
            "in (?:the )?heavy (?:going|ground)",
            "against the tide",
        ),
    ),
    # starting and stopping
    (
        "start",
        _either(
            f"(?:get|gets|getting|got|keep) (?:{_IT}|the engine|this) (?:to )?(?:back )?"
            "(?:go|going|started|start|run|running)",
            "start(?:s|ing|ed)?[ -]?up",
            f"fir(?:e|es|ing|ed) (?:(?:{_IT}|the engine|straight) )?up",
            "cold[ -]?start(?:s|ing|ed)?",
        ),
    ),
    (
        "tow ",
        r"\bpull(?:s|ed|ing)? (?:it|her|him) "
        r"(?=(?:with|behind) (?:\w+ ){1,2}(?:tractor|truck|lorry|jeep|car|van|pickup|digger|loader)\b)",
    ),
    ("morning", r"\bfirst thing(?: in the morning| of a morning)?\b"),
    ("barely ", r"\b(?:hardly|barely|scarcely) (?:ever |even |will )?(?=(?:start|catch|fire|run|go)(?:s|es|ing)?\b)"),
    (
        "wontturn",
        r"\b(?:wont|will not|cant|cannot|can not|could not|couldnt|wouldnt) (?:even )?turn\b"
        r"(?! (?:over|on|off|the key|key|it off|it on)\b)",
    ),
    (" keeps running ", r"\bdieseling\b|\bdiesels (?=(?:when|after|on|if|once)\b)"),
    ("overprimed", rf"\bflooded (?:{_IT}|the engine)\b|\b(?:it|its|shes|engine) flooded\b(?! (?:in|with|by))"),
    ("notrunning", r"\b(?:isnt|not|aint) running\b(?! (?:right|well|smooth|even|on|hot|cold|rough|as))"),
    ("notfiring", r"\b(?:isnt|arent|not|aint) firing\b"),
    ("doesnothing", r"\b(?:does|do|did|doing) nothing\b"),
    ("nothinghappens", r"\bnothing happen(?:s|ed)\b"),
    # heat
    ("redzone", r"\bin(?:to)? the red\b"),
    (
        "stayscold",
        r"\b(?:never|wont|doesnt|dont|does not|will not|hardly|barely) (?:ever |really |even |properly )?"
        r"(?:gets? |runs? |comes? )?(?:properly |really |up )?warm(?:s|ed)?(?: up)?\b",
    ),
    (
        "overheat",
        _NOT_BEFORE + r"\b(?:gets?|getting|goes|running|runs) (?:too |so |very |really |far |quite )*hot\b"
        r"(?! to touch| enough)",
    ),
    # how it runs, how much and how often
    ("nopower", rf"\bno go in {_IT}\b|\bno go(?: left| at all)?{_END}"),
    ("racing", r"\b(?:rev|scream|shak|work|rac)\w* (?:its|his|her) (?:head|nuts?) off\b"),
    ("oncylinders", _either("on all (?:of them|(?:the |its )?cylinders|(?:two|three|four|five|six)(?: cylinders)?)")),
    ("everyturn", _either("(?:each|every) (?:turn|rev|revolution|beat|stroke)")),
    ("otherturn", _either("(?:(?:each|every) (?:other|second)|once in two) (?:turn|rev|revolution)s?")),
    (
        "constantly",
        _either(
            "all the time", "constant(?:ly)?", "non ?stop", "continual(?:ly)?", "continuous(?:ly)?", "all day(?: long)?"
        ),
    ),
    (
        "eachday",
        _either("(?:every|each)(?: single| blessed| damned| damn)? day", "daily", "a day", "per day", "day in day out"),
    ),
    ("outweekly", r"\bout (?:every|each|most) week(?:end)?s?\b"),
    (
        "oil oftenneeded ",
        r"\boil (?:(?:in|into|before|for|after) )?(?:it |her |him )?(?:every|each) (?=(?:trip|morning|week|weekend)\b)",
    ),
    ("topup", rf"\btop(?:s|ped|ping)?(?: {_IT}| them)? (?:up|off)\b"),
    ("oilcan", _either("oil ?can", "can of oil", "gallon can")),
    ("slight ", rf"\ba (?:bit|little|touch|wisp|trace|hint)(?: of)?(?: an?)? {_COLOUR}"),
    ("lot", r"\bquite an? (?:bit|lot)\b"),
    ("much", _either("(?:loads?|lots?|tons|bags|masses|clouds and clouds) of")),
    ("", _either("a bit of an?", "a bit of", "a touch of", "sort of", "kind of")),
    ("time#2", r"\b(?:once|twice) or twice\b"),
    ("zero ", r"\bnothing (?=(?:on|at|until) )"),
    ("notalways", r"\b(?:doesnt|dont|does not|not) always\b"),
    ("not", r"\b(?:no longer|not any ?more)\b"),
    (
        "not ",
        r"\b(?:stopped|quit|ceased) (?=(?:smok|leak|knock|rattl|drip|us|burn|miss|overheat|boil|los|tapp)\w*ing\b)",
    ),
    ("", rf"\b(?:as if|as though) (?:{_IT} (?:was|were|is|had|has)|its|shes|hes)\b[^,.;!?\n]*"),
    # when, and what was done
    ("than before", rf"\bthan (?:{_IT} )?(?:ever )?used to\b(?: be)?"),
    ("as before", rf"\b(?:as|like|what) (?:{_IT} )?used to\b(?: be)?"),
    (ONCE, r"\bused to\b|\bbefore the (?:rebuild|overhaul|repair|work)\b"),
    (f"{ONCE} run ", r"\bran (?=(?:well|fine|sweet|sweetly|ok|lovely|good|great|beautifully|perfectly)\b)"),
    (
        "when ",
        r"\bonce (?=(?:its|it|shes|she|hes|he|youve|you|ive|im|i|the|everything|warm|hot|cold|started|running|going)"
        r"\b)",
    ),
    ("eversince", rf"\b(?:from that day(?: on)?|from then on|since then|ever since{_END})(?!\w)"),
    (r"\1year", r"\b(last|this) year\b"),
    ("must", r"\b(?:have|has|had|having|need|needs|got) to\b"),
    ("lookedat", r"\blook(?:ed|ing)? at\b"),
    (
        "done ",
        r"\bdid (?:the |my |its )"
        r"(?=(?:valves?|tappets|clearances|rings|points|plugs|bearings|injectors|timing|head)\b)",
    ),
)
_COMPILED = tuple((re.compile(pattern), word) for word, pattern in _WAYS)


def one_word_each(text: str) -> str:
    """A text of small letters in which one word says what several did."""
    for pattern, word in _COMPILED:
        text = pattern.sub(word, text)
    return text


__all__ = ["ONCE", "one_word_each"]
