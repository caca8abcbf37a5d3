"""Words as people write them for how an engine is built, and what each point is asked for."""

from __future__ import annotations

import re
import typing
from collections.abc import Iterable
from difflib import get_close_matches

from ..model.engine import Build

WORDS: dict[str, tuple[str, ...]] = {
    name: typing.get_args(hint) for name, hint in typing.get_type_hints(Build).items() if typing.get_args(hint)
}
"""Field of the build -> the words it can take."""

PURPOSE: dict[str, str] = {
    "fuel": "what it burns: it decides between spark and injection",
    "cylinders": "how many cylinders: readings are taken one for each",
    "layout": "where the valves stand: in the block beside the bore, or in the head",
    "use": "what it is for: it decides how the engine is reached and what load it sees",
    "cooling": "how it is cooled",
    "bores": "whether the bores are sleeves or cut in the block: it decides what a worn one costs",
    "bearings": "shells that are renewed, or poured white metal that is taken up with shims",
    "mains_in_frame": "whether main bearings can be renewed with the crankshaft in place",
    "pan_in_frame": "whether the oil pan comes off with the engine in place",
    "rear_seal": "what seals the crankshaft at the flywheel",
    "rear_seal_needs": "what must come apart for the rear seal",
    "guides": "whether valve guides are pressed in or part of the casting",
    "seats": "whether valve seats are inserted or part of the casting",
    "head_takes_resurfacing": "whether the head may be skimmed",
    "frame": "whether the engine sits in a frame, is the frame, or stands on the bench",
    "volts": "the electrical system",
    "ignition": "what makes the spark",
    "hand_crank": "whether it has a starting handle",
    "electric_start": "whether it has a starter motor",
    "oiling": "how it is oiled",
    "oil_gauge": "whether it has an oil-pressure gauge",
    "valve_rotators_sodium": "whether the exhaust valves are sodium-filled",
    "governor": "whether it is governed",
    "cold_aid": "what helps a diesel start cold",
    "carburettor": "which way the carburettor draws",
    "oil_cooler": "whether it has an oil cooler in the coolant",
    "gearbox_shares_oil": "whether engine and gearbox share the oil",
    "year": "about when it was built: it tells poured from shell bearings, six volts from twelve",
    "kind": "the kind of engine, where nobody knows more",
}
"""Field -> why it is asked, for a mechanic."""

_SAID: dict[str, dict[str, str]] = {
    "fuel": {
        "petrol": "gasoline, gas, benzine, spark, petrol_kerosene, kerosene, paraffin, tvo, distillate, "
        "petrol_paraffin",
        "diesel": "derv, oil_engine, compression_ignition, fuel_oil, gas_oil, red_diesel, heavy_oil",
    },
    "layout": {
        "side_valve": "sidevalve, sv, flathead, flat_head, l_head, lhead, valves_in_block, in_block, "
        "valves_in_the_block",
        "overhead_valve": "ohv, overhead, valve_in_head, valves_in_head, i_head, ohc, overhead_cam, pushrod, "
        "overhead_valves, in_head, valves_in_the_head",
    },
    "use": {
        "farm": "tractor, agricultural, combine, baler",
        "marine": "boat, launch, ship, yacht, sea, inboard",
        "stationary": "pump, generator, genset, saw, mixer, barrow, bench, fixed, industrial, compressor, hit_and_miss",
        "light_vehicle": "car, van, truck, lorry, pickup, vehicle, automobile, road",
    },
    "cooling": {
        "pump": "water_pump, pumped, water, radiator, pumped_water, radiator_and_pump, liquid",
        "thermosiphon": "thermo_siphon, thermosyphon, natural_circulation, no_pump, radiator_no_pump",
        "hopper": "tank, open_tank, hopper_cooled, evaporative",
        "raw_water": "sea_water, seawater, lake_water, direct_raw_water, river_water",
        "air": "air_cooled, fins, fan, fan_cooled",
    },
    "bores": {
        "wet_sleeves": "wet_sleeve, wet_liners, wet_liner, wet",
        "dry_sleeves": "dry_sleeve, dry_liners, dry_liner, dry",
        "in_block": "parent, parent_bore, parent_bores, block, no_sleeves, none, bored_in_block, cast_iron_block",
    },
    "bearings": {
        "inserts": "insert, shells, shell, thinwall, thin_wall, slippers, shell_bearings, bimetal",
        "babbitt": "poured, white_metal, whitemetal, babbit, poured_babbitt, poured_white_metal, shims, shimmed",
    },
    "rear_seal": {"rope": "wick, packing, graphite_rope", "lip": "neoprene, rubber, modern, one_piece",
                  "slinger": "thrower, scroll, oil_thrower, none"},
    "rear_seal_needs": {"pan_off": "pan, sump_off", "split": "tractor_split, splitting",
                        "engine_out": "out, engine_removed"},
    "guides": {"pressed": "pressed_in, replaceable, removable", "integral": "cast, in_casting, part_of_head"},
    "seats": {"inserted": "inserts, insert, hard_seats", "cast": "in_casting, in_block, in_head, integral"},
    "frame": {"in_frame": "chassis, in_chassis, bed", "is_frame": "unit_tractor, backbone, unit_construction",
              "bench": "stand, skid, free_standing"},
    "volts": {"6": "6v, six, 6_volt, 6_volts", "12": "12v, twelve, 12_volt, 12_volts", "none": "no, no_battery"},
    "ignition": {"battery": "coil, coil_and_battery, distributor, points, coil_and_points, battery_and_coil",
                 "magneto": "mag, magnet, flywheel_magneto",
                 "none": "compression, no_spark"},
    "oiling": {"pressure": "pump, pressure_fed, forced, full_pressure, gear_pump", "splash": "dipper, dippers, troughs",
               "part_splash": "partly_splash, splash_and_pump, low_pressure, pump_and_splash"},
    "cold_aid": {"none": "no, nothing", "glow_plugs": "glow_plug, glowplugs, glowplug, glow, heater_plugs",
                 "intake_heater": "manifold_heater, thermostart, flame_start, flame_heater, air_heater, inlet_heater"},
    "carburettor": {"updraft": "up_draft, updraught, up", "downdraft": "down_draft, downdraught, down",
                    "sidedraft": "side_draft, sidedraught, horizontal, side"},
}
_YES_NO = {"yes": "y, true, has, with", "no": "n, false, without, hasnt, none"}
_COUNTS = {"1": "one, single, single_cylinder, one_cylinder, thumper", "2": "two, twin, two_cylinder, pair",
           "3": "three, triple, three_cylinder", "4": "four, four_cylinder", "5": "five, five_cylinder",
           "6": "six, six_cylinder, straight_six"}
DONT_KNOW = frozenset({"unknown", "dont_know", "don't_know", "not_known", "no_idea", "not_sure", "?", "d", "any"})


def plain_word(text: object) -> str:
    """'Flat-head' -> 'flat_head'."""
    return re.sub(r"[\s_-]+", "_", str(text).strip().lower()).strip("_.")


def _table(name: str) -> dict[str, str]:
    """Every way of writing a word of a field -> the word."""
    words = tuple(_COUNTS) if name == "cylinders" else WORDS.get(name, ())
    said = _COUNTS if name == "cylinders" else _YES_NO if words == ("yes", "no") else _SAID.get(name, {})
    table = {word: word for word in words}
    for word, others in said.items():
        for other in others.split(", "):
            table.setdefault(other, word)
    return table


def word_for(name: str, text: object) -> str | None:
    """The word of a field that `text` means, 'unknown' for "don't know"; None where it means none of them."""
    if isinstance(text, bool):
        text = "yes" if text else "no"
    plain = plain_word(text)
    if plain in DONT_KNOW:
        return "unknown"
    return _table(name).get(plain)


def hint_for(name: str, text: object) -> str:
    """The words that are allowed, with the nearest first where one is near."""
    words = tuple(_COUNTS) if name == "cylinders" else WORDS[name]
    close = get_close_matches(plain_word(text), list(_table(name)), n=1, cutoff=0.7)
    near = f"did you mean {_table(name)[close[0]]}? " if close else ""
    return f"{near}it can be {', '.join(words)} or unknown"


def words_in(text: str, names: Iterable[str]) -> tuple[dict[str, str], list[str]]:
    """(field -> word, words that mean nothing here) of a phrase such as 'petrol four, side valve, tractor'.

    Longest phrases first; the first field that knows a word has it.
    """
    said = [part for part in re.split(r"[^a-z0-9'?]+", text.lower()) if part]
    found: dict[str, str] = {}
    rest: list[str] = []
    names = list(names)
    place = 0
    while place < len(said):
        for length in (4, 3, 2, 1):
            phrase = "_".join(said[place:place + length])
            if len(said) - place < length:
                continue
            hit = next((name for name in names if name not in found and phrase in _table(name)), None)
            if hit is not None:
                found[hit] = _table(hit)[phrase]
                place += length
                break
        else:
            rest.append(said[place])
            place += 1
    return found, rest
