"""Which faults an engine has: four conditions of its life tie them together, and each fault has a severity.

Shares and ties are this bench's own judgement of a country shop's engines, put down fault by fault without a look at
the rule base's odds. All of it is invented.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import NormalDist

import numpy as np


@dataclass(frozen=True, slots=True)
class Fault:
    """How often a fault is there at all, and how the engine's life drives it."""

    share: float
    wear: float = 0.0
    neglect: float = 0.0
    storage: float = 0.0
    heat: float = 0.0


FAULTS: dict[str, Fault] = {
    # battery, starter, charging
    "weak_battery": Fault(.22, neglect=.3, storage=.6),
    "bad_cables": Fault(.14, neglect=.5, storage=.3),
    "worn_starter": Fault(.06, wear=.5),
    "no_charge": Fault(.07, wear=.3, neglect=.3),
    # ignition (petrol)
    "fouled_plugs": Fault(.15, neglect=.5, storage=.2),
    "bad_points": Fault(.14, neglect=.6, storage=.2),
    "weak_coil_condenser": Fault(.06, neglect=.2, heat=.2),
    "cracked_cap_leads": Fault(.09, neglect=.5),
    "late_timing": Fault(.08, neglect=.4),
    "early_timing": Fault(.04, neglect=.3),
    # fuel and air
    "rich_carburettor": Fault(.09, neglect=.3, storage=.3),
    "lean_jet": Fault(.09, storage=.5),
    "choke_stuck": Fault(.05, storage=.4),
    "fuel_starvation": Fault(.13, neglect=.4, storage=.4),
    "stale_fuel": Fault(.12, storage=.75),
    "manifold_air_leak": Fault(.07, wear=.2, heat=.3),
    "dirty_air_cleaner": Fault(.14, neglect=.7),
    "governor_linkage": Fault(.06, wear=.3, storage=.3),
    # diesel
    "air_in_fuel": Fault(.14, neglect=.4, storage=.3),
    "worn_injectors": Fault(.15, wear=.4, neglect=.4),
    "worn_injection_pump": Fault(.05, wear=.5, storage=.2),
    "injection_timing_off": Fault(.04, wear=.2),
    "failed_cold_aid": Fault(.14, wear=.2, neglect=.3),
    # exhaust, breathing, valve clearance
    "blocked_exhaust": Fault(.03, storage=.5),
    "exhaust_leak": Fault(.10, wear=.2, heat=.3),
    "blocked_breather": Fault(.12, neglect=.6),
    "tight_valve_clearance": Fault(.10, neglect=.4, heat=.2),
    "loose_valve_clearance": Fault(.13, wear=.3, neglect=.4),
    # cooling
    "blocked_radiator_passages": Fault(.11, neglect=.5, storage=.3),
    "thermostat_stuck_shut": Fault(.04, neglect=.2, heat=.4),
    "thermostat_missing_open": Fault(.07),
    "external_coolant_leak": Fault(.11, neglect=.3, storage=.2),
    "water_pump_belt": Fault(.06, wear=.4, neglect=.2),
    # oil and leaks
    "oil_level_low": Fault(.07, neglect=.6),
    "wrong_thin_oil": Fault(.06, neglect=.4),
    "false_oil_gauge": Fault(.06),
    "external_oil_leak": Fault(.22, wear=.3, neglect=.3),
    "front_crank_seal": Fault(.08, wear=.4),
    "rear_main_seal": Fault(.07, wear=.5),
    # head and valves
    "burnt_exhaust_valve": Fault(.09, wear=.3, neglect=.3, heat=.5),
    "leaking_inlet_valve": Fault(.04, wear=.4),
    "sticking_valve": Fault(.06, storage=.6),
    "worn_guides": Fault(.13, wear=.7),
    "head_gasket_coolant": Fault(.06, heat=.7),
    "head_gasket_between_cylinders": Fault(.03, heat=.6),
    "warped_head": Fault(.03, heat=.7),
    "cracked_head": Fault(.015, heat=.7),
    "carbon_build_up": Fault(.07, wear=.4, neglect=.3),
    # below the head
    "worn_rings": Fault(.17, wear=.75, neglect=.2),
    "stuck_rings": Fault(.05, storage=.5, neglect=.3),
    "worn_bores": Fault(.10, wear=.8, neglect=.2),
    "scored_bores": Fault(.025, wear=.2, heat=.5),
    "piston_slap": Fault(.04, wear=.7),
    "worn_piston_pins": Fault(.02, wear=.6),
    "worn_rod_bearings": Fault(.06, wear=.6, neglect=.4),
    "worn_main_bearings": Fault(.05, wear=.6, neglect=.3),
    "worn_crank_journals": Fault(.03, wear=.6, neglect=.3),
    "worn_oil_pump": Fault(.04, wear=.6),
    "clogged_oil_screen": Fault(.03, neglect=.7),
    "worn_timing_gears": Fault(.03, wear=.7),
    "worn_cam_followers": Fault(.03, wear=.6, neglect=.2),
    "seized_engine": Fault(.02, storage=.7),
}
CONDITIONS = ("wear", "neglect", "storage", "heat")
STEEP = 1.1
"""How fast severity rises once a fault is there."""


def life(rng: np.random.Generator) -> dict[str, float]:
    """The engine's life in standard units: how worn, how neglected, how long stored, how often overheated."""
    shared = rng.standard_normal()
    return {name: float(0.5 * shared + np.sqrt(0.75) * rng.standard_normal()) for name in CONDITIONS}


def severities(past: dict[str, float], causes: list[str], rng: np.random.Generator) -> dict[str, float]:
    """Cause -> severity from 0 to 1 of the faults that are there, in order of the table.

    A fault's stress is its share of the engine's conditions and a part of its own; beyond the fault's threshold it is
    there, and the further beyond the worse.
    """
    result = {}
    for name, fault in FAULTS.items():
        own = rng.standard_normal()  # for every fault, so that no engine hangs on what another sheet can have
        if name not in causes:
            continue
        loads = [getattr(fault, condition) for condition in CONDITIONS]
        tied = sum(load * past[condition] for load, condition in zip(loads, CONDITIONS, strict=True))
        left = np.sqrt(max(0.1, 1 - sum(load * load for load in loads)))
        spread = np.sqrt(left**2 + _variance(loads))
        over = (tied + left * own) / spread - NormalDist().inv_cdf(1 - fault.share)
        if over > 0:
            result[name] = float(1 - np.exp(-STEEP * over))
    return result


def _variance(loads: list[float]) -> float:
    """Variance of the tied part: conditions have unit variance and correlate by a quarter."""
    total = sum(loads)
    return sum(load * load for load in loads) * 0.75 + 0.25 * total * total
