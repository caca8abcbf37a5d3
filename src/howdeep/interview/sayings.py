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
_BITS = "(?:bits|pieces|boxes|buckets|crates|tubs|cartons|tea ?chests|biscuit tins|a (?:box|crate|tea ?chest) of bits)"
_MACHINE = "(?:car|tractor|boat|truck|lorry|van|pickup|jeep|frame|chassis|hull|machine|combine|digger)"
_LIFTED = "(?:pulled|lifted|hoisted|hauled|craned|winched)"
_TAKEN_APART = (
    rf"(?:(?:took|taken|stripped|tore|torn|broke|broken|pulled) (?:{_IT}|the engine|the motor|this one) "
    "(?:all |right |completely )?(?:apart|to (?:bits|pieces))"
    rf"|(?:stripped|tore|torn) (?:{_IT}|the engine|the motor|this one) (?:all |right |completely )?down)"
)
_TOGETHER = (
    r"(?=[^!?\n]{0,60}(?:\b(?:back together|together again|rebuilt it|put (?:it|her|everything) (?:all )?back)\b|"
    r"\b(?:now|since|still|but|and) (?:(?:then|it|she|its|shes|hes|theres|there is|there was|has|got|had|a|bad|still|"
    r"now|just|always|does|wont|will not|doesnt|isnt) )*"
    r"(?:knock|smok|shak|leak|miss|run|ran|start|overheat|boil|us|burn|rattl|tap|crank|pull|blow|noise|drip|fire|went|goes)|"
    r"[.;] (?:it|she) (?!lies|lays|is\b|sits|stands)[^.!?\n]{0,40}\b(?:now|since|still)\b))"
)
"""Who says how it has run since has put it together again."""
_PART = (
    "(?:rings|bearings|shells|mains|big ends|pistons|liners|plugs|points|leads|condenser|coil|rotor|carb|gaskets?|"
    "valves|hoses)"
)
_FEARED = (
    r"(?:will|would|might|could|may|gonna|going to|about to|liable to|bound to|afraid(?: of| that)?|(?:for )?fear of|"
    r"(?:frightened|scared) of|worried about|in case|lest|if|unless|nearly|almost|close to|itll|itd) "
    rf"(?:(?:{_IT}|its|the engine|the motor|the thing|just|only|soon|ever|even|go and|come to) )*"
    r"(?:seiz(?:e|es|ed|ing)(?: up)?|lock(?:s|ed|ing)? up|blow(?:s|ing)? up)"
)
"""What is feared, or was feared and did not come."""
_WAYS: tuple[tuple[str, str], ...] = (
    # what is asked, advised, feared, and what is said in figures of speech
    ("and ", r"\bas well as (?=\w+ing\b)"),
    ("", r"\bas well\b(?! as\b)"),
    (
        "",
        r"(?<!seems )(?<!seem )(?<!appears )(?<!refuses )(?<!likely )\bnot to "
        r"(?:run|start|use|drive|rev|load|turn|crank|touch|move|put|try)\b",
    ),
    (
        r"\1",
        r"\b(i|we|you)(?: (?:dont|do not|didnt|did not|wont|will not|wouldnt|would not|havent|darent|dare not|shouldnt|"
        r"should not|must not|mustnt|better not))+(?: (?:want|like|dare|care|need|be|run it)(?:ed|d)?)?(?: to)? "
        r"(?:run|start|drive|use|turn|load|try|running|starting)\b(?= (?:it|her|him|the)\b)(?! (?:it |her |him )?"
        r"(?:since|for|this|last|in|after|until|over|all|through|during|any more|anymore|at all|yet|because)\b)",
    ),
    (
        r"\1",
        r"\b(said|says|told (?:me|us|him)|tells me|reckons|better|shouldnt|mustnt|must|should)(?: i| we| you)?"
        r"(?: (?:shouldnt|mustnt|should not|must not|better not|dont|do not|never|not))+ (?:run|start|use|drive)\b",
    ),
    (r"\1", r"(^|[.,;:!?\n] *)(?:please )?(?:dont|do not) (?:ever |you )?(?:run|start|use|drive) (?:it|her)\b"),
    ("feared", rf"\b{_FEARED}\b"),
    (r"\1feared", r"\b((?:stop|shut|switch|turn|caught|catch|pull)\w* (?:\w+ ){0,4}before (?:it|she|he) )seiz\w+\b"),
    ("uses oil", r"\b(?:likes|fond of|partial to) (?:its|her|his|a drop of) oil\b"),
    ("kicked back", r"\bkicked like an? (?:mule|horse|donkey)\b"),
    ("keeps kicking back", r"\bkicks? like an? (?:mule|horse|donkey)\b"),
    ("oil gauge", r"\boil (?:pressure )?clock\b"),
    ("temperature gauge", r"\b(?:temp|temperature|water|heat) clock\b"),
    ("hotlight", r"\b(?:hot|heat|temp|temperature) (?:light|lamp)\b"),
    (r"\1 ", r"(\bruns? (?:\w+ ){0,5}(?:hours?|minutes?|mins?)), (?=(?:and |but )?then\b)"),
    # how it comes
    ("takenapart", rf"\b{_TAKEN_APART}\b{_TOGETHER}"),
    ("inpieces", rf"\b{_TAKEN_APART}\b(?! for\b)"),
    (
        "inpieces",
        r"\bin (?:(?:a|the|few|hundred|thousand|million|dozen|lots of|two|three|four|five|six|some|several|many|small|"
        rf"little|old|big|cardboard|plastic|milk|feed|paint|ice ?cream|separate|couple of) )*{_BITS}(?! of\b)",
    ),
    (
        "inpieces",
        r"\b(?:building|assembling|putting) (?:it|her|the engine|the motor) (?:all )?(?:back )?(?:up|together)\b"
        r"|\bhalf[ -](?:built|assembled|apart|stripped)\b",
    ),
    (
        "engineout",
        rf"(?:\b(?:{_LIFTED}|took|taken|got|had|have) (?:the|my|his) (?:engine|motor|lump) "
        rf"(?:right |clean |already )?out\b"
        rf"|\b{_LIFTED} (?:{_IT} )(?:right |clean |already )?out\b(?! of (?:the|a|my|his) (?!{_MACHINE}\b))"
        rf"|\b(?:took|taken|got|had|have) (?:{_IT} )(?:right |clean |already )?out of (?:the|its|my|his) {_MACHINE}\b"
        r"|\b(?:engine|motor|lump)(?:s| is| was| has been)?(?: been| already| lying| now| right)* out"
        rf"(?= of (?:the|its|my|his) {_MACHINE}\b| already\b| now\b| on\b| and\b| *(?:[.,;!?\n]|$)))(?!{_TOGETHER})",
    ),
    ("enginestand", r"\bon (?:the|an|a|my) (?:engine )?stand\b"),
    ("onbench", r"\bon (?:the|a|my|his|your) (?:work)?bench\b"),
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
    (
        "asever",
        _either(
            "as (?:(?:well|strong|strongly|good) )?(?:as )?(?:ever|always)",
            f"(?:like|as|same as|the way) {_IT} (?:always|ever)(?: did| has| had| was)?",
            "like new",
        ),
    ),
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
            "on the (?:way|run) down",
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
            "(?:on|up) (?:(?:a|the|any|that|every|long|steep) )*(?:climb|gradient|incline|grade|long drag)s?",
            "(?:put|puts|get|got) (?:my |your |the )?foot back (?:on it|on|down)",
            r"when (?:the |a )?(?:\w+ )?(?:baler|plough|saw|mower|pump|drag|trailer|tines|shares|cutter|blade|"
            "thresher|chopper)s? (?:bites?|bits?|tak(?:es?|ing) hold|digs? in|cuts? in|comes? in|loads? up)",
            "lugging(?: it| her)?",
            r"towing(?! (?:it|her|him|to|in|home)\b)",
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
    ("twomen", r"\b(?:(?:two|both|three) of us|(?:two|three) (?:men|people|lads|blokes|fellows))\b"),
    ("thatday", r"\b(?:this|that|one|yesterday|the other|(?:mon|tues|wednes|thurs|fri|satur|sun)day) morning\b"),
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
    (r"\1 ", rf"\b({_PART}), (?=(?:new |the )?{_PART}\b)"),
    ("replaced", r"\b(?:renew(?:ed|ing)|(?:swapped|swopped)(?! (?:\w+ ){1,4}(?:over|round|about|between|with)\b))"),
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
        r"\b(?:did|done|doing) (?:the |my |its |her |all (?:the )?|some )"
        r"(?=(?:new )?(?:valves?|tappets|clearances|rings|points|plugs|bearings|shells|mains|big ends?|injectors|"
        r"timing|head|carb\w*|magneto|distributor|hoses|thermostat|water pump|battery|starter|dynamo|alternator|"
        r"generator)\b)"
        r"(?![^.!?\n]*[?])",
    ),
)
_COMPILED = tuple((re.compile(pattern), word) for word, pattern in _WAYS)


def one_word_each(text: str) -> str:
    """A text of small letters in which one word says what several did."""
    for pattern, word in _COMPILED:
        text = pattern.sub(word, text)
    return text


__all__ = ["ONCE", "one_word_each"]
