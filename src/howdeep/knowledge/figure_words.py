"""What a figure of an engine sheet is called."""

from __future__ import annotations

_PARTS = {"low": "least when new", "high": "most when new", "wear": "limit in service"}
_NAMES = {
    "cranking_compression": "cranking compression",
    "cranking_rpm": "cranking speed",
    "bore": "bore",
    "bore_taper": "bore taper",
    "bore_out_of_round": "bore out of round",
    "piston_clearance": "piston skirt clearance",
    "ring_gap": "ring end gap",
    "ring_side": "ring side clearance",
    "sleeve_protrusion": "stand-out of the sleeves",
    "end_play": "crankshaft end play",
    "pin_clearance": "piston pin clearance",
    "valve_stem_inlet": "inlet stem clearance",
    "valve_stem_exhaust": "exhaust stem clearance",
    "valve_margin": "least margin of a valve",
    "seat_width": "seat width",
    "seat_width_exhaust": "exhaust seat width",
    "spring_load": "valve spring load",
    "cam_lift": "cam lift",
    "cam_lift_exhaust": "exhaust cam lift",
    "head_flatness": "flatness of the head",
    "deck_flatness": "flatness of the deck",
    "lash_inlet": "inlet valve clearance",
    "lash_exhaust": "exhaust valve clearance",
    "oil_pressure_idle": "oil pressure hot at idle",
    "oil_pressure_speed": "oil pressure hot at working speed",
    "cap_pressure": "radiator cap pressure",
    "points_gap": "contact-breaker gap",
    "plug_gap": "plug gap",
    "crankpins.clearance": "rod bearing clearance",
    "crankpins.out_of_round": "crankpin out of round",
    "crankpins.taper": "crankpin taper",
    "mains.clearance": "main bearing clearance",
    "mains.out_of_round": "main journal out of round",
    "mains.taper": "main journal taper",
}
_OWN = {
    "cranking_compression.low": "cranking compression, least when sound",
    "cranking_compression.high": "cranking compression, most when sound",
    "oil_pressure_idle.wear": "least oil pressure hot at idle",
    "oil_pressure_speed.wear": "least oil pressure hot at working speed",
    "bore.wear": "most bore wear",
}
FIELDS = {
    "fuel": "what it burns",
    "cylinders": "how many cylinders",
    "layout": "where the valves stand",
    "use": "what it is for",
    "cooling": "how it is cooled",
    "bores": "how the bores are made",
    "bearings": "what its bearings are",
    "mains_in_frame": "whether the mains are reached in the frame",
    "pan_in_frame": "whether the pan comes off in the frame",
    "rear_seal": "the rear crankshaft seal",
    "rear_seal_needs": "what must come apart for the rear seal",
    "guides": "how the guides are made",
    "seats": "how the valve seats are made",
    "head_takes_resurfacing": "whether the head may be skimmed",
    "frame": "how it sits in the machine",
    "volts": "the electrical system",
    "ignition": "what makes the spark",
    "hand_crank": "whether it has a handle",
    "electric_start": "whether it has a starter",
    "oiling": "how it is oiled",
    "oil_gauge": "whether it has an oil gauge",
    "valve_rotators_sodium": "whether the exhaust valves are sodium-filled",
    "governor": "whether it is governed",
    "cold_aid": "its cold-start aid",
    "carburettor": "which way the carburettor draws",
    "oil_cooler": "whether it has an oil cooler",
    "gearbox_shares_oil": "whether engine and gearbox share the oil",
    "year": "about when it was built",
    "firing_order": "its firing order",
}
"""Field of the build -> what it is called in a list."""
_SAID = {
    "babbitt": "poured white metal",
    "inserts": "shells",
    "in_block": "cut in the block",
    "is_frame": "it is the frame",
    "none": "none",
    "6": "6 volts",
    "12": "12 volts",
    "battery": "coil and battery",
}


def figure_title(path: str) -> str:
    """'ring_gap.wear' -> 'ring end gap, limit in service'."""
    if path in _OWN:
        return _OWN[path]
    if path in _NAMES:
        return _NAMES[path]
    name, _, part = path.rpartition(".")
    return f"{_NAMES.get(name, name.replace('_', ' '))}, {_PARTS.get(part, part)}"


def field_words(name: str, word: str) -> str:
    """'bearings', 'babbitt' -> 'what its bearings are: poured white metal'."""
    return f"{FIELDS.get(name, name)}: {word_words(word)}"


def word_words(word: str) -> str:
    """A word of the build as a person reads it."""
    return _SAID.get(word, word.replace("_", " "))
