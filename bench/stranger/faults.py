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
    "weak_battery": Fault(0.22, neglect=0.3, storage=0.6),
    "bad_cables": Fault(0.14, neglect=0.5, storage=0.3),
    "worn_starter": Fault(0.06, wear=0.5),
    "no_charge": Fault(0.07, wear=0.3, neglect=0.3),
    # the ignition of petrol engines
    "fouled_plugs": Fault(0.15, neglect=0.5, storage=0.2),
    "bad_points": Fault(0.14, neglect=0.6, storage=0.2),
    "weak_coil_condenser": Fault(0.06, neglect=0.2, heat=0.2),
    "cracked_cap_leads": Fault(0.09, neglect=0.5),
    "late_timing": Fault(0.08, neglect=0.4),
    "early_timing": Fault(0.04, neglect=0.3),
    # fuel and air
    "rich_carburettor": Fault(0.09, neglect=0.3, storage=0.3),
    "lean_jet": Fault(0.09, storage=0.5),
    "choke_stuck": Fault(0.05, storage=0.4),
    "fuel_starvation": Fault(0.13, neglect=0.4, storage=0.4),
    "stale_fuel": Fault(0.12, storage=0.75),
    "manifold_air_leak": Fault(0.07, wear=0.2, heat=0.3),
    "dirty_air_cleaner": Fault(0.14, neglect=0.7),
    "governor_linkage": Fault(0.06, wear=0.3, storage=0.3),
    # diesel
    "air_in_fuel": Fault(0.14, neglect=0.4, storage=0.3),
    "worn_injectors": Fault(0.15, wear=0.4, neglect=0.4),
    "worn_injection_pump": Fault(0.05, wear=0.5, storage=0.2),
    "injection_timing_off": Fault(0.04, wear=0.2),
    "failed_cold_aid": Fault(0.14, wear=0.2, neglect=0.3),
    # exhaust, breathing, valve clearance
    "blocked_exhaust": Fault(0.03, storage=0.5),
    "exhaust_leak": Fault(0.10, wear=0.2, heat=0.3),
    "blocked_breather": Fault(0.12, neglect=0.6),
    "tight_valve_clearance": Fault(0.10, neglect=0.4, heat=0.2),
    "loose_valve_clearance": Fault(0.13, wear=0.3, neglect=0.4),
    # cooling
    "blocked_radiator_passages": Fault(0.11, neglect=0.5, storage=0.3),
    "thermostat_stuck_shut": Fault(0.04, neglect=0.2, heat=0.4),
    "thermostat_missing_open": Fault(0.07),
    "external_coolant_leak": Fault(0.11, neglect=0.3, storage=0.2),
    "water_pump_belt": Fault(0.06, wear=0.4, neglect=0.2),
    # oil and leaks
    "oil_level_low": Fault(0.07, neglect=0.6),
    "wrong_thin_oil": Fault(0.06, neglect=0.4),
    "false_oil_gauge": Fault(0.06),
    "external_oil_leak": Fault(0.22, wear=0.3, neglect=0.3),
    "front_crank_seal": Fault(0.08, wear=0.4),
    "rear_main_seal": Fault(0.07, wear=0.5),
    # head and valves
    "burnt_exhaust_valve": Fault(0.09, wear=0.3, neglect=0.3, heat=0.5),
    "leaking_inlet_valve": Fault(0.04, wear=0.4),
    "sticking_valve": Fault(0.06, storage=0.6),
    "worn_guides": Fault(0.13, wear=0.7),
    "head_gasket_coolant": Fault(0.06, heat=0.7),
    "head_gasket_between_cylinders": Fault(0.03, heat=0.6),
    "warped_head": Fault(0.03, heat=0.7),
    "cracked_head": Fault(0.015, heat=0.7),
    "carbon_build_up": Fault(0.07, wear=0.4, neglect=0.3),
    # below the head
    "worn_rings": Fault(0.17, wear=0.75, neglect=0.2),
    "stuck_rings": Fault(0.05, storage=0.5, neglect=0.3),
    "worn_bores": Fault(0.10, wear=0.8, neglect=0.2),
    "scored_bores": Fault(0.025, wear=0.2, heat=0.5),
    "piston_slap": Fault(0.04, wear=0.7),
    "worn_piston_pins": Fault(0.02, wear=0.6),
    "worn_rod_bearings": Fault(0.06, wear=0.6, neglect=0.4),
    "worn_main_bearings": Fault(0.05, wear=0.6, neglect=0.3),
    "worn_crank_journals": Fault(0.03, wear=0.6, neglect=0.3),
    "worn_oil_pump": Fault(0.04, wear=0.6),
    "clogged_oil_screen": Fault(0.03, neglect=0.7),
    "worn_timing_gears": Fault(0.03, wear=0.7),
    "worn_cam_followers": Fault(0.03, wear=0.6, neglect=0.2),
    "seized_engine": Fault(0.02, storage=0.7),
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
