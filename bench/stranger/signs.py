"""What is answered, read and seen of an engine that runs as it runs: one small function an observation.

A sign comes where there is enough of what makes it, give or take (`BLUR`). Nothing here knows how often the rule base
thinks that a cause shows a sign. Observations without a function are never answered by this bench.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from zlib import crc32

import numpy as np

from .running import FELT, Running, Spots, leaks, noises, running, smokes

BLUR = 0.10
"""How sharply a person tells much from little, as a standard deviation on the scale of severity."""
ENOUGH_FOR_SIGN = 0.32
"""From so much of something a person who looks for it sees it."""
PAST_LIMIT = 0.35
"""From this severity a mechanic who has the part in sight calls it past its limit."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Figures of an engine sheet that a test is read against."""

    compression: float
    """psi of a sound engine."""
    pressure_idle: float
    pressure_speed: float
    """psi of a sound engine, hot."""
    ring_gap: tuple[float, float]
    """Highest when new and past the limit, in."""
    volts: float


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """One engine as it stands now, ready to be asked."""

    faults: Mapping[str, float]
    past: Mapping[str, float]
    spots: Spots
    sheet: Sheet
    diesel: bool
    seed: tuple[int, int]
    """Seed of the run and number of the engine."""
    run: Running

    def dice(self, name: str) -> np.random.Generator:
        """The same throws for one question of one engine whatever was asked before, also after a job."""
        return np.random.default_rng([*self.seed, crc32(name.encode())])

    def sev(self, name: str) -> float:
        """Severity of a fault; 0 where it is not there."""
        return self.faults.get(name, 0.0)

    def much(self, value: float, name: str, limit: float = ENOUGH_FOR_SIGN) -> bool:
        """Whether there is enough of it to be seen, by this question's own throw."""
        return bool(value + BLUR * self.dice(name).standard_normal() > limit)

    def grade(self, value: float, name: str, words: tuple[str, ...], *limits: float) -> str:
        """The word for how much there is; limits rise."""
        blurred = value + BLUR * self.dice(name).standard_normal()
        return words[sum(blurred > limit for limit in limits)]


def look(
    faults: Mapping[str, float],
    past: Mapping[str, float],
    spots: Spots,
    sheet: Sheet,
    diesel: bool,
    seed: tuple[int, int],
) -> Look:
    """An engine with these faults, ready to be asked."""
    return Look(faults, past, spots, sheet, diesel, seed, running(faults, spots, diesel=diesel))


def _yes(value: Callable[[Look], float], limit: float = ENOUGH_FOR_SIGN) -> Callable[[Look, str], str]:
    return lambda e, name: "yes" if e.much(value(e), name, limit) else "no"


def _graded(value: Callable[[Look], float], words: tuple[str, ...], *limits: float) -> Callable[[Look, str], str]:
    return lambda e, name: e.grade(value(e), name, words, *limits)


def _fault(cause: str, sound: str, bad: str, limit: float = ENOUGH_FOR_SIGN) -> Callable[[Look, str], str]:
    return lambda e, name: bad if e.much(e.sev(cause), name, limit) else sound


def _runs(e: Look, name: str = "runs") -> str:
    if e.run.trouble["stuck"] >= 0.5:
        return "no"
    return e.grade(e.run.effort, "runs", ("yes", "only_just", "no"), 1.1, 1.35)


COMPLAINTS = {
    "stuck": "stuck",
    "wont_start": "wont_start",
    "hard_start": "hard_start",
    "misfires": "misfires",
    "no_power": "no_power",
    "knocks": "knocks",
    "smokes": "smokes",
    "oil_pressure": "oil_pressure",
    "hunts": "misfires",
    "uses_oil": "uses_oil",
    "overheats": "overheats",
    "coolant_loss": "coolant_loss",
    "leaks": "leaks",
    "flat_battery": "hard_start",
    "fumes": "smokes",
    "runs_cold": "check_over",
}


def _complaint(e: Look, name: str) -> str:
    over = {trouble: much / FELT[trouble] for trouble, much in e.run.trouble.items() if much >= FELT[trouble]}
    if not over:
        return "stood" if e.past["storage"] > 1 else "check_over"
    if "stuck" in over:
        return "stuck"
    if "wont_start" in over:
        return "stood" if e.past["storage"] > 1.2 else "wont_start"
    throw = e.dice(name)
    return COMPLAINTS[max(sorted(over), key=lambda trouble: over[trouble] * (1 + 0.15 * throw.random()))]


def _noise(e: Look, name: str) -> str:
    heard = noises(e.faults)
    loudest = max(heard, key=heard.get)
    throw = e.dice(name)
    if heard[loudest] + BLUR * throw.standard_normal() < ENOUGH_FOR_SIGN:
        return "none"
    mixed = {
        "knock_deep": "knock_sharp",
        "knock_sharp": "knock_deep",
        "double_knock": "tap",
        "clatter": "tap",
        "slap_cold": "knock_sharp",
        "tap": "clatter",
    }
    return mixed[loudest] if loudest in mixed and throw.random() < 0.2 else loudest


def _noise_when(e: Look, name: str) -> str:
    heard = noises(e.faults)
    usual = {
        "knock_deep": "pulling",
        "knock_sharp": "light_load",
        "double_knock": "idle",
        "tap": "always",
        "slap_cold": "cold_only",
        "ping": "pulling",
        "clatter": "always",
        "squeal": "cold_only",
        "hiss": "pulling",
    }
    throw = e.dice(name)
    return usual[max(heard, key=heard.get)] if throw.random() < 0.7 else "always"


def _noise_speed(e: Look, name: str) -> str:
    heard = noises(e.faults)
    throw = e.dice(name).random()
    if throw < 0.35:
        return "no_beat"
    return "half" if max(heard, key=heard.get) in ("tap", "clatter") else "crank"


def _noise_short(e: Look, name: str) -> str:
    heard = noises(e.faults)
    loud = max(heard, key=heard.get)
    throw = e.dice(name).random()
    return {"knock_sharp": "goes", "double_knock": "doubles"}.get(loud, "no_change") if throw < 0.8 else "no_change"


def _any_smoke(e: Look) -> float:
    return max(smokes(e.faults, e.run).values())


def _smoke(order: tuple[tuple[str, float, str], ...]) -> Callable[[Look, str], str]:
    """The first that shows of (kind, share of it seen at this moment, answer)."""

    def answer(e: Look, name: str) -> str:
        found = smokes(e.faults, e.run)
        blur = BLUR * e.dice(name).standard_normal()
        shown = [(found[kind] * share, word) for kind, share, word in order if found[kind] * share + blur > 0.3]
        return max(shown)[1] if shown else "none"

    return answer


def _smoke_pulling(e: Look, name: str) -> str:
    found = smokes(e.faults, e.run)
    blur = BLUR * e.dice(name).standard_normal()
    blue, black, white = found["blue_pulling"] + blur, found["black"] + blur, found["white"] + blur
    if max(blue, black, white) < 0.3:
        return "none"
    return (
        "black"
        if black == max(blue, black, white)
        else "white"
        if white > blue
        else ("blue_heavy" if blue > 0.65 else "blue_light")
    )


def _smell(e: Look, name: str) -> str:
    found = smokes(e.faults, e.run)
    kind = max(found, key=found.get)
    word = {
        "blue_pulling": "oil",
        "blue_start": "oil",
        "black": "raw_fuel",
        "white": "sweet",
        "white_cold": "sharp_stinging",
    }[kind]
    return word if e.dice(name).random() < 0.75 else "none"


def _leak(place: str) -> Callable[[Look, str], str]:
    return _graded(lambda e: leaks(e.faults, e.run)[place], ("dry", "damp", "drips"), 0.25, 0.5)


def _head_joint(e: Look, name: str) -> str:
    if not e.much(leaks(e.faults, e.run)["head"], name, 0.3):
        return "dry"
    return "coolant" if e.sev("head_gasket_coolant") + e.sev("warped_head") > 0.3 else "oil"


def _misfire(e: Look, name: str) -> str:
    if not e.much(e.run.trouble["misfires"], name, 0.34):
        return "none"
    fire = [a * b for a, b in zip(e.run.spark, e.run.seal, strict=True)]
    throw = e.dice(name + " kind").random()
    if len(fire) > 1 and min(fire) < 0.75 * float(np.median(fire)):
        return "one_steady" if throw < 0.75 else "one_now_and_then"
    return "all_now_and_then" if throw < 0.6 else "pulling"


def _power(e: Look, name: str) -> str:
    if e.sev("fuel_starvation") > 0.55 and e.dice(name + " way").random() < 0.4:
        return "surges"
    if e.run.heat > 0.6 and e.dice(name + " hot").random() < 0.4:
        return "fades_hot"
    return e.grade(e.run.trouble["no_power"], name, ("good", "down_some", "down_much"), 0.2, 0.38)


def _start_cold(e: Look, name: str) -> str:
    if _runs(e) == "no":
        return "never"
    return e.grade(e.run.effort, name, ("easy", "long", "needs_aid"), 0.42, 0.9)


def _start_hot(e: Look, name: str) -> str:
    hot = e.run.effort * 0.5 + 0.5 * e.sev("weak_coil_condenser") + 0.2 * e.run.rich
    return e.grade(hot, name, ("easy", "hard", "never"), 0.4, 1.0)


def _cranking_sound(e: Look, name: str) -> str:
    if e.run.trouble["stuck"] >= 0.5:
        return "click"
    speed = e.run.cranking + 0.06 * e.dice(name).standard_normal()
    if speed > 0.72:
        seal = e.run.seal
        return "uneven" if len(seal) > 1 and max(seal) - min(seal) > 0.45 else "strong"
    return "slow" if speed > 0.3 else "click" if e.sev("bad_cables") < 0.7 else "nothing"


def _oil_look(e: Look, name: str) -> str:
    throw = e.dice(name).random()
    if max(e.sev("head_gasket_coolant"), e.sev("cracked_head")) > 0.4 and throw < 0.45:
        return "milky"
    if max(e.sev("worn_rod_bearings"), e.sev("worn_main_bearings")) > 0.6 and throw < 0.35:
        return "metal_bits"
    if e.sev("clogged_oil_screen") > 0.3 and throw < 0.6:
        return "sludge"
    return "clean" if throw < 0.4 and e.past["neglect"] < 0 else "black_normal"


def _overheats(e: Look, name: str) -> str:
    if not e.much(e.run.heat, name, 0.4):
        return "no"
    if max(e.sev("thermostat_stuck_shut"), e.sev("water_pump_belt")) > 0.5:
        return "after_minutes"
    return "always" if e.run.heat > 0.8 else "pulling"


def _heard(e: Look, name: str) -> list[str]:
    """Where each cylinder's leak is heard."""
    words = []
    for number, (seal, rings) in enumerate(zip(e.run.seal, e.run.by_rings, strict=True)):
        throw = e.dice(f"{name} {number}").random()
        word = "nothing"
        if seal < 0.8 and throw < 0.9:
            word = "breather" if rings > 0.2 else "nothing"
            if number == e.spots.worst and e.sev("burnt_exhaust_valve") > 0.25:
                word = "exhaust"
            elif number == e.spots.worst and e.sev("leaking_inlet_valve") > 0.3:
                word = "inlet"
            elif e.sev("head_gasket_between_cylinders") > 0.3 and rings < 0.2:
                word = "next_cylinder"
            elif max(e.sev("head_gasket_coolant"), e.sev("cracked_head")) > 0.35 and rings < 0.2:
                word = "radiator_bubbles"
        words.append(word)
    return words


def _readings(
    value: Callable[[Look, int], float], unit: str, spread: float, digits: int = 0
) -> Callable[[Look, str], list[str]]:
    """One reading a cylinder with the gauge's own spread (a share of the reading)."""

    def answer(e: Look, name: str) -> list[str]:
        throws = e.dice(name).standard_normal(len(e.run.seal))
        return [
            f"{max(0.0, value(e, number) * (1 + spread * throws[number])):.{digits}f} {unit}"
            for number in range(len(e.run.seal))
        ]

    return answer


def _reading(value: Callable[[Look], float], unit: str, spread: float, digits: int = 1) -> Callable[[Look, str], str]:
    def answer(e: Look, name: str) -> str:
        return f"{max(0.0, value(e) * (1 + spread * e.dice(name).standard_normal())):.{digits}f} {unit}"

    return answer


def _dry(e: Look, number: int) -> float:
    return e.sheet.compression * e.run.seal[number]


def _wet(e: Look, number: int) -> float:
    return _dry(e, number) * (1.04 + 0.75 * e.run.by_rings[number])


def _leakage(e: Look, number: int) -> float:
    return min(95.0, 5 + 75 * (1 - min(1, e.run.seal[number])))


def _plugs(e: Look, name: str) -> list[str]:
    words = []
    oily = (
        0.65 * e.sev("worn_rings")
        + 0.5 * e.sev("worn_bores")
        + 0.35 * e.sev("worn_guides")
        + 0.4 * e.sev("stuck_rings")
    )
    for number, spread in enumerate(e.spots.spread):
        blur = BLUR * e.dice(f"{name} {number}").standard_normal()
        wet_coolant = e.sev("head_gasket_coolant") if number == e.spots.worst else 0.0
        no_fire = 1 - e.run.spark[number]
        word = max(
            (
                (oily * spread + blur, "oily"),
                (0.7 * e.run.rich + 0.4 * e.sev("fouled_plugs") + blur, "sooty_dry"),
                (0.75 * e.run.lean + blur, "white_hot"),
                (0.6 * no_fire + blur, "wet_fuel"),
                (0.7 * wet_coolant + blur, "wet_coolant"),
                (0.33, "normal"),
            )
        )[1]
        words.append(word)
    return words


def _pattern(e: Look, name: str) -> str:
    ways = {
        "regular_drop": 1.2 * e.sev("burnt_exhaust_valve") + (1 - min(e.run.spark)) * 0.4,
        "occasional_drop": e.sev("sticking_valve"),
        "drift": 0.8 * e.run.rich,
        "fast_vibration_idle": 0.8 * e.sev("worn_guides"),
        "falls_off": 1.2 * e.sev("blocked_exhaust"),
        "floats": 1.1 * e.sev("head_gasket_between_cylinders"),
    }
    best = max(ways, key=ways.get)
    return best if e.much(ways[best], name, 0.4) else "steady"


def _vacuum(e: Look) -> float:
    mean = sum(e.run.seal) / len(e.run.seal)
    return (
        20.5
        - 7 * (1 - min(1, mean))
        - 4.5 * e.sev("late_timing")
        - 7 * e.sev("manifold_air_leak")
        - 2.5 * e.sev("worn_guides")
        - 2 * (1 - min(e.run.spark))
    )


def _charge(e: Look) -> float:
    return e.sheet.volts * (1.18 - 0.2 * e.sev("no_charge"))


def _rest(e: Look) -> float:
    return e.sheet.volts * (0.955 + 0.095 * min(1, e.run.battery + 0.1))


def _balance(e: Look, name: str) -> list[str]:
    words = []
    for number, (a, b) in enumerate(zip(e.run.spark, e.run.seal, strict=True)):
        words.append(e.grade(1 - a * min(1, b), f"{name} {number}", ("drops", "small_drop", "no_change"), 0.33, 0.6))
    return words


def _timing(e: Look, name: str) -> str:
    return (
        "late"
        if e.much(e.sev("late_timing"), name, 0.25)
        else "early"
        if e.much(e.sev("early_timing"), name, 0.25)
        else "right"
    )


def _lash(e: Look, name: str) -> str:
    tight, loose = e.sev("tight_valve_clearance"), e.sev("loose_valve_clearance")
    return "right" if not e.much(max(tight, loose), name, 0.2) else "some_tight" if tight > loose else "some_loose"


def _places(cause: str, sound: str, bad: str) -> Callable[[Look, str], dict[Any, str]]:
    """A part looked at on every cylinder, journal or valve of the open engine: bad on one place where it is past its
    limit (a worn engine's others follow, and one is enough to know)."""
    return lambda e, name: {1: bad if e.sev(cause) >= PAST_LIMIT else sound}


def _worst_valve(e: Look, name: str) -> list[str]:
    return [
        "burnt" if number == e.spots.worst and e.sev("burnt_exhaust_valve") >= PAST_LIMIT else "good"
        for number in range(len(e.run.seal))
    ]


def _bores(e: Look, name: str) -> dict[int, str]:
    return {1: "scored" if e.sev("scored_bores") >= PAST_LIMIT else "good"}


def _ring_gap(e: Look, name: str) -> list[str]:
    new, limit = e.sheet.ring_gap
    worn = new + (limit - new) * e.sev("worn_rings") / PAST_LIMIT * 1.02
    return [f"{max(new * 0.9, worn * (0.97 + 0.03 * spread)):.4f} in" for spread in e.spots.spread]


def _pressure_lost(e: Look) -> float:
    return 7 * max(
        e.sev("external_coolant_leak"),
        0.8 * e.sev("water_pump_belt"),
        0.7 * e.sev("head_gasket_coolant"),
        0.8 * e.sev("cracked_head"),
    )


def _starter_volts(e: Look, name: str) -> str:
    if e.run.cranking > 0.3:
        return "turns"
    return "none" if e.sev("bad_cables") > 0.7 else "full" if e.sev("worn_starter") > 0.6 else "turns"


def _motion(e: Look, name: str) -> list[str]:
    words = ["follows"] * len(e.run.seal)
    if e.much(e.sev("worn_cam_followers"), name, 0.4):
        words[e.spots.worst] = "short_lift"
    if e.much(e.sev("sticking_valve"), name, 0.3):
        words[(e.spots.worst + 1) % len(words)] = "slow_to_close"
    return words


def _wall(e: Look, name: str) -> list[str]:
    return [
        "wall_scored" if number == e.spots.worst and e.much(e.sev("scored_bores"), name, 0.35) else "sound"
        for number in range(len(e.run.seal))
    ]


def _where(e: Look, name: str) -> str:
    heard = noises(e.faults)
    place = {
        "knock_deep": "low",
        "knock_sharp": "low",
        "double_knock": "cylinders",
        "tap": "top",
        "slap_cold": "cylinders",
        "ping": "cylinders",
        "clatter": "front",
        "squeal": "front",
        "hiss": "top",
    }
    return place[max(heard, key=heard.get)] if e.dice(name).random() < 0.8 else "nowhere"


def _pump_pressure(e: Look, name: str) -> str:
    pump = 0.6 * e.sev("worn_oil_pump") + 0.5 * e.sev("clogged_oil_screen") + 0.4 * e.sev("oil_level_low")
    if not e.much(1 - e.run.pressure, name, 0.36):
        return "alike"
    return "low_both" if pump > 0.5 * (1 - e.run.pressure) else "lost_between"


def _hours(e: Look, name: str) -> str:
    throw = e.dice(name)
    if throw.random() < 0.3:
        return "never_known"
    return ("under_500", "500_2000", "over_2000")[
        sum(e.past["wear"] + 0.4 * throw.standard_normal() > limit for limit in (-0.7, 0.5))
    ]


def _life(condition: str, words: tuple[str, ...], *limits: float) -> Callable[[Look, str], str]:
    return lambda e, name: words[
        sum(e.past[condition] + 0.3 * e.dice(name).standard_normal() > limit for limit in limits)
    ]


TALK: dict[str, Callable[[Look, str], Any]] = {
    "complaint": _complaint,
    "runs": _runs,
    "turns_over": lambda e, name: e.grade(e.run.trouble["stuck"], name, ("yes", "stiff", "stuck"), 0.3, 0.5),
    "start_cold": _start_cold,
    "start_hot": _start_hot,
    "fires_at_all": lambda e, name: e.grade(e.run.effort, name, ("yes", "tries", "no"), 1.3, 1.7),
    "cranking_sound": _cranking_sound,
    "power": _power,
    "misfire": _misfire,
    "hunting": _yes(lambda e: max(e.sev("governor_linkage"), 0.7 * e.run.lean), 0.4),
    "smoke_any": _yes(_any_smoke, 0.3),
    "smoke_start": _smoke(
        (
            ("blue_start", 1, "blue_puff"),
            ("blue_pulling", 0.7, "blue_long"),
            ("black", 0.6, "black"),
            ("white_cold", 1, "white_clears"),
            ("white", 1, "white_stays"),
        )
    ),
    "smoke_idle": _smoke(
        (("blue_pulling", 0.7, "blue"), ("blue_start", 0.5, "blue"), ("black", 0.8, "black"), ("white", 0.9, "white"))
    ),
    "smoke_pulling": _smoke_pulling,
    "smoke_overrun": _smoke((("blue_start", 0.9, "blue_puff"), ("black", 0.4, "black"))),
    "smoke_smell": _smell,
    "oil_use": _graded(
        lambda e: e.run.trouble["uses_oil"], ("none", "little", "quart_500_miles_or_10h", "worse"), 0.2, 0.4, 0.7
    ),
    "oil_level": lambda e, name: "low" if e.much(e.sev("oil_level_low"), name, 0.25) else "right",
    "oil_look": _oil_look,
    "oil_grade": _fault("wrong_thin_oil", "right", "thin", 0.3),
    "oil_light_gauge_hot_idle": _graded(lambda e: 1 - e.run.gauge, ("good", "low", "zero"), 0.36, 0.75),
    "oil_gauge_speed": _graded(lambda e: 0.8 * (1 - e.run.gauge), ("good", "low", "zero"), 0.4, 0.75),
    "oil_gauge_cold": _graded(lambda e: 0.6 * (1 - e.run.gauge), ("good", "low", "zero"), 0.4, 0.75),
    "dipstick_blows": _yes(lambda e: e.run.fumes, 0.6),
    "breather_fumes": _graded(
        lambda e: e.run.blow_by + 0.2 * e.sev("blocked_breather"), ("none", "light", "puffs_heavy"), 0.25, 0.55
    ),
    "overheats": _overheats,
    "coolant_use": _graded(lambda e: e.run.trouble["coolant_loss"], ("none", "some", "lots"), 0.25, 0.55),
    "coolant_look": lambda e, name: (
        "oily"
        if max(e.sev("head_gasket_coolant"), e.sev("cracked_head")) > 0.5 and e.dice(name).random() < 0.3
        else "rusty"
        if e.much(e.sev("blocked_radiator_passages"), name, 0.3)
        else "clean"
    ),
    "coolant_bubbles": _yes(lambda e: max(e.sev("head_gasket_coolant"), e.sev("cracked_head")), 0.35),
    "warms_up": lambda e, name: (
        "never_warm"
        if e.much(e.sev("thermostat_missing_open"), name, 0.3)
        else "fast"
        if e.much(e.run.heat, name, 0.6)
        else "normal"
    ),
    "noise": _noise,
    "noise_when": _noise_when,
    "noise_speed": _noise_speed,
    "exhaust_puff": _yes(lambda e: e.sev("exhaust_leak")),
    "pinking": _yes(lambda e: 0.75 * e.sev("early_timing") + 0.6 * e.sev("carbon_build_up") + 0.2 * e.run.lean, 0.35),
    "backfire": lambda e, name: (
        "carburettor"
        if e.much(e.run.lean, name, 0.5)
        else "exhaust"
        if e.much(e.sev("late_timing"), name, 0.5)
        else "none"
    ),
    "leak_rear": _leak("rear"),
    "leak_front": _leak("front"),
    "leak_cover": _leak("cover"),
    "leak_pan": _leak("pan"),
    "leak_head_joint": _head_joint,
    "leak_clutch_housing": lambda e, name: (
        "engine_oil" if e.much(leaks(e.faults, e.run)["rear"], name, 0.25) else "dry"
    ),
    "leak_water_pump": _graded(lambda e: e.sev("water_pump_belt"), ("dry", "damp", "drips"), 0.35, 0.6),
    "hours_since_overhaul": _hours,
    "stood": _life("storage", ("no", "months", "years"), 0.6, 1.4),
    "dust": _life("neglect", ("clean", "dusty"), 0.7),
    "work_load": _life("wear", ("light", "mixed", "heavy"), -0.5, 0.8),
    "overheated_before": _life("heat", ("no", "once", "badly"), 0.8, 1.6),
    "ran_low_oil": _life("neglect", ("no", "yes"), 1.2),
    "fuel_age": lambda e, name: e.grade(
        e.sev("stale_fuel") * 0.8 + 0.1 * (e.past["storage"] > 0.6), name, ("fresh", "months", "years"), 0.2, 0.5
    ),
}
"""Asked across the counter."""

CONDITIONS_OF_TESTS = {
    "test_engine_warm": "yes",
    "test_throttle_open": "yes",
    "test_plugs_out": "all",
    "test_battery_good": "yes",
    "test_gauge_known": "yes",
    "compression_strokes": 6,
}
"""How a careful shop tests; written down with every reading."""

TESTS: dict[str, Callable[[Look, str], Any]] = {
    "turns_by_hand": lambda e, name: e.grade(e.run.trouble["stuck"], name, ("free", "stiff", "stuck"), 0.3, 0.5),
    "battery_rest": _reading(_rest, "V", 0.004, 2),
    "battery_cranking": _reading(lambda e: e.sheet.volts * (0.55 + 0.33 * e.run.battery), "V", 0.02, 2),
    "cable_drop": _reading(lambda e: 0.04 + 0.75 * e.sev("bad_cables"), "V", 0.15, 2),
    "charge_volts": _reading(_charge, "V", 0.01, 2),
    "spark": _graded(lambda e: 1 - sum(e.run.spark) / len(e.run.spark), ("strong", "weak", "none"), 0.35, 0.75),
    "spark_cylinders": lambda e, name: [
        e.grade(1 - value, f"{name} {number}", ("good", "weak", "none"), 0.4, 0.75)
        for number, value in enumerate(e.run.spark)
    ],
    "points_look": _fault("bad_points", "good", "burnt", 0.2),
    "cap_leads_look": _fault("cracked_cap_leads", "sound", "cracked_tracked", 0.2),
    "plug_look": _plugs,
    "timing_mark": _timing,
    "fuel_flow": _graded(lambda e: 1 - e.run.flow, ("good", "weak", "none"), 0.25, 0.75),
    "fuel_sample": _fault("stale_fuel", "clean", "stale_gum", 0.2),
    "bleed_diesel": _fault("air_in_fuel", "clear", "bubbles", 0.2),
    "injector_test": _fault("worn_injectors", "good", "dribbles_or_poor", 0.3),
    "injection_timing_check": _fault("injection_timing_off", "right", "late", 0.3),
    "cold_aid_check": _fault("failed_cold_aid", "works", "dead", 0.3),
    "air_cleaner_look": _fault("dirty_air_cleaner", "clean", "blocked", 0.3),
    "choke_check": _fault("choke_stuck", "free", "sticks_shut", 0.3),
    "manifold_wet_test": _fault("manifold_air_leak", "no_change", "speed_changes", 0.3),
    "rich_lean_choke_trick": lambda e, name: (
        "better" if e.much(e.run.lean, name, 0.3) else "worse" if e.much(e.run.rich, name, 0.3) else "no_change"
    ),
    "exhaust_check": _fault("blocked_exhaust", "clear", "blocked", 0.3),
    "exhaust_manifold_look": _fault("exhaust_leak", "sound", "cracked_or_blown", 0.3),
    "breather_check": _fault("blocked_breather", "clear", "blocked", 0.3),
    "oil_pressure_idle": _reading(lambda e: e.sheet.pressure_idle * e.run.pressure, "psi", 0.06),
    "oil_pressure_speed": _reading(lambda e: e.sheet.pressure_speed * (0.15 + 0.85 * e.run.pressure), "psi", 0.06),
    "oil_gauge_check": _fault("false_oil_gauge", "gauge_true", "gauge_false", 0.25),
    "radiator_flow": _fault("blocked_radiator_passages", "good", "poor", 0.3),
    "thermostat_check": lambda e, name: (
        "stuck_shut"
        if e.much(e.sev("thermostat_stuck_shut"), name, 0.25)
        else "missing_or_open"
        if e.much(e.sev("thermostat_missing_open"), name + " open", 0.25)
        else "opens"
    ),
    "belt_pump_check": _fault("water_pump_belt", "good", "pump_leaks_or_loose", 0.3),
    "combustion_gas_test": _yes(lambda e: max(e.sev("head_gasket_coolant"), e.sev("cracked_head")), 0.25),
    "lash_check": _lash,
    "noise_plug_short": _noise_short,
    "noise_belt_off": lambda e, name: "gone" if e.sev("water_pump_belt") > 0.4 else "same",
    "cylinder_balance": _balance,
    "compression_dry": _readings(_dry, "psi", 0.03),
    "compression_wet": _readings(_wet, "psi", 0.03),
    "leakage": _readings(_leakage, "percent", 0.1),
    "leakage_heard": _heard,
    "vacuum_level": _reading(_vacuum, "inHg", 0.02),
    "vacuum_pattern": _pattern,
    "coolant_pressure_test": _reading(_pressure_lost, "psi", 0.1),
    "starter_volts": _starter_volts,
    "terminals_look": _fault("bad_cables", "good", "bad", 0.3),
    "starter_current": lambda e, name: "high" if e.much(e.sev("worn_starter"), name, 0.35) else "normal",
    "cylinder_liquid": lambda e, name: (
        "liquid" if e.much(max(e.sev("head_gasket_coolant"), e.sev("cracked_head")), name, 0.6) else "dry"
    ),
    "valve_motion": _motion,
    "plug_hole_look": _wall,
    "noise_where": _where,
    "oil_pump_pressure": _pump_pressure,
    "vacuum_snap": lambda e, name: "poor" if e.much(e.run.blow_by, name, 0.35) else "wide",
    "blow_by": _reading(lambda e: 22 + 110 * e.run.blow_by, "ft3/h", 0.1),
}
"""Made with tools on the closed engine."""

SOUND: dict[str, str] = {
    "cap_check": "holds",
    "coolant_hose_look": "sound",
    "fuel_and_switch_look": "right",
    "heat_riser_check": "free",
    "impulse_click": "clicks",
    "loose_pulley_look": "tight",
    "oil_cooler_flow": "free",
    "oil_cooler_test": "sound",
    "relief_valve_check": "free",
    "ring_gear_look": "good",
    "starter_drive_look": "good",
}
"""Tests of what is never wrong on this bench's engines."""
TESTS |= dict.fromkeys(SOUND, lambda e, name: SOUND[name])

OPEN: dict[str, Callable[[Look, str], Any]] = {
    "valve_look": _worst_valve,
    "head_gasket_look": lambda e, name: (
        "track_to_coolant"
        if e.sev("head_gasket_coolant") >= PAST_LIMIT
        else ("burnt_between" if e.sev("head_gasket_between_cylinders") >= PAST_LIMIT else "sound")
    ),
    "head_crack": lambda e, name: "crack_repairable" if e.sev("cracked_head") >= PAST_LIMIT else "none",
    "bore_look": _bores,
    "ridge": lambda e, name: "catches_nail" if e.sev("worn_bores") >= PAST_LIMIT else "none",
    "ring_look": _places("stuck_rings", "free", "stuck"),
    "ring_gap_measured": _ring_gap,
    "piston_look": _places("piston_slap", "good", "worn_skirt"),
    "pin_fit": _places("worn_piston_pins", "good", "loose"),
    "bearing_look": _places("worn_rod_bearings", "good", "worn"),
    "main_bearing_look": _places("worn_main_bearings", "good", "worn"),
    "oil_pump_check": lambda e, name: "worn" if e.sev("worn_oil_pump") >= PAST_LIMIT else "good",
    "oil_screen_look": lambda e, name: "clogged" if e.sev("clogged_oil_screen") >= PAST_LIMIT else "clean",
    "timing_gear_look": lambda e, name: "worn" if e.sev("worn_timing_gears") >= PAST_LIMIT else "good",
    "cam_look": lambda e, name: "worn_lobes" if e.sev("worn_cam_followers") >= PAST_LIMIT else "good",
}
"""Seen and measured on the open engine."""
OPEN_SHOWS = {
    "valve_look": "burnt_exhaust_valve",
    "head_gasket_look": "head_gasket_coolant",
    "head_crack": "cracked_head",
    "bore_look": "scored_bores",
    "ridge": "worn_bores",
    "ring_look": "stuck_rings",
    "ring_gap_measured": "worn_rings",
    "piston_look": "piston_slap",
    "pin_fit": "worn_piston_pins",
    "bearing_look": "worn_rod_bearings",
    "main_bearing_look": "worn_main_bearings",
    "oil_pump_check": "worn_oil_pump",
    "oil_screen_look": "clogged_oil_screen",
    "timing_gear_look": "worn_timing_gears",
    "cam_look": "worn_cam_followers",
}
"""What each look at the open engine is for; it is made where the depth opens that cause to view."""
