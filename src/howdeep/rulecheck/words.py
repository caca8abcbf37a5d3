"""Word lists of the checks on what a rule says: stock phrases, little words, finite verbs of the trade."""

# ruff: noqa: SIM905 - plain text is easier to add to than a list of quoted words

FILLER = frozenset(
    {
        "tbd",
        "tba",
        "todo",
        "fixme",
        "unknown",
        "none",
        "nothing",
        "na",
        "n/a",
        "nil",
        "various",
        "misc",
        "obvious",
        "self-explanatory",
        "see above",
        "see below",
        "as above",
        "as title",
        "see the title",
        "self explanatory",
        "it depends",
        "it all depends",
        "not known",
        "not applicable",
        "to be written",
        "to do",
        "nothing known",
        "nothing that is known",
        "to be filled in later",
        "this is to be written",
        "see the notes above this one",
    }
)
"""Texts that say nothing."""

LITTLE = frozenset("a an and are as at be by for has have in is it its of on or that the this to with".split())
"""Words that carry no meaning of their own."""

VERBS = frozenset(
    """
    am appears are aren't asks be becomes been began begins bends betrays binds blames bleeds blew blows boiled boils
    breaks breathes brings broke bubbles builds burn burns burnt came can can't cannot carries catches causes changed
    changes chatters clears clicks climbs close closes come comes cools could count counts covers cracks crank cranks
    creeps cuts decides depends deposits did dies differ differs dilutes do does doesn't don't doubles drags drains
    draws dribbles drifts drips drives drop dropped drops eases eats empties enters escapes exceeds excuse excuses
    fades failed fails fall falls feeds feel feels fell fills fire fires floats flooded flows follow follows fools
    forces fouls froths froze gains gets give gives glazes go goes grew grinds grows gums had hangs hardens has have
    held hide hides hints hisses hold holds hunts idles imitate imitates improves is isn't jams jumps keep keeps kept
    kicks knock knocked knocks lacks lags lasts leads leak leaked leaks leaves lets lies lifts lights limits loads
    locks look looks loosens lose loses lost make makes marks mask masks matter matters may measures meets melts might
    mimic mimics mixes move moves must need needs open opens overheat overheated overheats pass passes pings pinks
    plays point points pounds pours pricks produces proves puffs pulls pumps pushes puts races raises ran rattle
    rattles reaches read reads recedes reduces refuses reminds returns rise rises rose rounds rubs rules rumbles run
    runs rusts sat says scores seals seats seeps sees seizes separates shakes shifts should show shows shuts sits slap
    slaps slips slows smells smoke smoked smokes sound sounds spares spark sparks speak speaks speeds spins spits
    sprays sputters squeals stalls stands start started starts starves stays steadies steams stick sticks stiffens
    stood stop stopped stops strains stretches strikes sucks suffers surges swallows swells swings take takes taps tell
    tells tends thickens thins throws ticks tightens touches tracks travels trembles turn turned turns used uses varies
    vibrates wanders wants warms was washes wastes wear wears weeps went were wets will wobbles worked works worsens
    would yields
""".split()
)
"""Verbs that make a title a sentence. Add to it when a good title is taken for a noun phrase."""
