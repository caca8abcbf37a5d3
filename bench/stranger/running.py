"""From faults to how the engine runs, and from that to what its owner feels.

A mechanic's picture in plain arithmetic: each fault takes something from compression, spark, mixture, cooling, oil
pressure ..., and trouble begins where what is left falls short. All weights are judgement.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

AT_ONCE = frozenset(
    {"stuck", "wont_start", "hard_start", "misfires", "no_power", "knocks", "smokes", "oil_pressure", "hunts"}
)
"""Troubles that the engine shows on the bench before it is handed over. The others show in use."""

FELT = {
    "stuck": 0.5,
    "wont_start": 1.35,
    "hard_start": 0.5,
    "misfires": 0.36,
    "no_power": 0.24,
    "knocks": 0.42,
    "smokes": 0.42,
    "oil_pressure": 0.42,
    "hunts": 0.5,
    "uses_oil": 0.42,
    "overheats": 0.42,
    "coolant_loss": 0.35,
    "leaks": 0.5,
    "flat_battery": 0.4,
    "fumes": 0.6,
    "runs_cold": 0.5,
}
"""How much of each trouble its owner puts up with."""


@dataclass(frozen=True, slots=True)
class Spots:
    """Where on the engine its faults sit: drawn once for each engine."""

    worst: int
    """Cylinder with the burnt valve, the worst rings, the bad plug."""
    spread: tuple[float, ...]
    """Per cylinder, how evenly wear falls; from .6 to 1."""


@dataclass(frozen=True, slots=True)
class Running:
    """How the engine runs; 0 to 1 unless said otherwise."""

    seal: tuple[float, ...]
    """Per cylinder, compression as a share of a sound one's."""
    by_rings: tuple[float, ...]
    """Per cylinder, the loss that passes rings and bore (oil in the cylinder brings it back)."""
    spark: tuple[float, ...]
    """Per cylinder; 1 throughout on a diesel."""
    battery: float
    cranking: float
    """Cranking speed as a share of a sound one's."""
    rich: float
    lean: float
    flow: float
    effort: float
    """Starting effort; beyond 1.35 it does not start."""
    blow_by: float
    fumes: float
    heat: float
    pressure: float
    """Oil pressure as a share of a sound engine's."""
    gauge: float
    """What the dash gauge makes of it."""
    trouble: dict[str, float]
    """How much of each trouble there is."""


def running(faults: Mapping[str, float], spots: Spots, *, diesel: bool) -> Running:
    """`faults` is cause -> severity."""
    f = _Severity(faults)
    cylinders = len(spots.spread)
    by_rings = tuple(
        min(0.75, spread * (0.42 * f.worn_rings + 0.34 * f.worn_bores + 0.38 * f.stuck_rings + 0.7 * f.scored_bores))
        for spread in spots.spread
    )
    by_valves = [0.05 * f.worn_guides + 0.12 * f.tight_valve_clearance] * cylinders
    by_valves[spots.worst] += 0.8 * f.burnt_exhaust_valve + 0.7 * f.leaking_inlet_valve
    by_valves[(spots.worst + 1) % cylinders] += 0.65 * f.sticking_valve
    joint = [0.0] * cylinders
    first = min(spots.worst, max(0, cylinders - 2))
    for number in {first, min(first + 1, cylinders - 1)}:
        joint[number] += 0.75 * f.head_gasket_between_cylinders
    joint[first] += 0.2 * f.head_gasket_coolant + 0.2 * f.warped_head + 0.25 * f.cracked_head
    seal = tuple(
        max(0.03, (1 - a) * (1 - min(0.95, b)) * (1 - min(0.9, c)) * (1 + 0.12 * f.carbon_build_up))
        for a, b, c in zip(by_rings, by_valves, joint, strict=True)
    )
    battery = max(0.05, 1 - 0.85 * f.weak_battery - 0.45 * f.no_charge)
    stiff = 0.9 * f.seized_engine
    cranking = max(0.0, (0.25 + 0.75 * battery) * (1 - 0.55 * f.bad_cables) * (1 - 0.7 * f.worn_starter) * (1 - stiff))
    oily = 0.5 * f.worn_rings + 0.3 * f.worn_bores + 0.2 * f.worn_guides
    shared = (1 - 0.6 * f.weak_coil_condenser) * (1 - 0.55 * f.bad_points)
    spark = (
        [1.0] * cylinders
        if diesel
        else [shared * (1 - 0.35 * f.fouled_plugs * spread) * (1 - 0.2 * min(1, oily)) for spread in spots.spread]
    )
    if not diesel:
        spark[spots.worst] *= 1 - 0.7 * f.fouled_plugs
        spark[(spots.worst + 2) % cylinders] *= 1 - 0.75 * f.cracked_cap_leads
    flow = max(0.02, 1 - 0.8 * f.fuel_starvation - 0.75 * f.air_in_fuel)
    rich = f.rich_carburettor + 0.4 * f.dirty_air_cleaner + 0.8 * f.choke_stuck
    lean = 0.8 * f.lean_jet + 0.75 * f.manifold_air_leak + 0.4 * (1 - flow)
    mean_seal, mean_spark = sum(seal) / cylinders, sum(spark) / cylinders
    effort = (
        1.1 * (1 - cranking)
        + 1.1 * (1 - mean_seal)
        + 1.1 * (1 - mean_spark)
        + 0.9 * f.stale_fuel
        + 1.1 * (1 - flow)
        + 0.35 * lean
        + 0.3 * rich
        + 0.35 * f.late_timing
        + 0.2 * f.early_timing
        + 0.7 * f.failed_cold_aid
        + 0.6 * f.worn_injection_pump
        + 0.6 * f.injection_timing_off
        + 0.3 * f.worn_injectors
        + 0.5 * f.blocked_exhaust
    )
    fire = [
        strength * (1 - 0.9 * max(0, 1 - kept - 0.1)) * (1 - 0.3 * min(1, lean)) * (1 - 0.2 * f.stale_fuel)
        for strength, kept in zip(spark, seal, strict=True)
    ]
    if diesel:
        fire[spots.worst] *= 1 - 0.5 * f.worn_injectors
    loss = 1 - (
        (1 - 0.55 * (1 - mean_seal))
        * (1 - 0.35 * f.late_timing)
        * (1 - 0.15 * f.early_timing)
        * (1 - 0.22 * min(1, rich))
        * (1 - 0.38 * min(1, lean))
        * (1 - 0.5 * (1 - flow))
        * (1 - 0.55 * f.blocked_exhaust)
        * (1 - 0.35 * f.dirty_air_cleaner)
        * (1 - 0.35 * f.worn_cam_followers)
        * (1 - 0.12 * f.loose_valve_clearance)
        * (1 - 0.3 * f.worn_injection_pump)
        * (1 - 0.25 * f.injection_timing_off)
        * (1 - 0.2 * f.worn_injectors)
        * (1 - 0.2 * f.governor_linkage)
        * (1 - 0.35 * (1 - mean_spark))
        * (1 - 0.15 * f.stale_fuel)
    )
    blow_by = 0.6 * f.worn_rings + 0.5 * f.worn_bores + 0.5 * f.stuck_rings + 0.6 * f.scored_bores
    heat = (
        0.9 * f.blocked_radiator_passages
        + 1.1 * f.thermostat_stuck_shut
        + 0.5 * f.head_gasket_coolant
        + 0.4 * f.cracked_head
        + 0.25 * f.late_timing
        + 0.15 * min(1, lean)
        + 0.8 * f.water_pump_belt
        + 0.35 * f.external_coolant_leak
        + 0.2 * f.oil_level_low
    )
    pressure = max(
        0.02,
        1
        - (
            0.55 * f.worn_rod_bearings
            + 0.5 * f.worn_main_bearings
            + 0.6 * f.worn_oil_pump
            + 0.3 * f.worn_crank_journals
            + 0.3 * f.wrong_thin_oil
            + 0.4 * f.oil_level_low
            + 0.5 * f.clogged_oil_screen
        ),
    )
    gauge = pressure * (1 - 0.8 * f.false_oil_gauge)
    fumes = blow_by + 0.45 * f.blocked_breather
    trouble = {
        "stuck": 0.95 * f.seized_engine,
        "wont_start": effort,
        "hard_start": effort,
        "misfires": 1 - min(fire),
        "no_power": loss,
        "knocks": max(_noises(f).values()),
        "smokes": max(_smokes(f, rich, fumes).values()),
        "oil_pressure": 1 - gauge,
        "hunts": 0.9 * f.governor_linkage,
        "uses_oil": (
            0.7 * f.worn_rings
            + 0.5 * f.worn_bores
            + 0.55 * f.worn_guides
            + 0.5 * f.stuck_rings
            + 0.5 * f.scored_bores
            + 0.3 * f.blocked_breather
            + 0.2 * f.external_oil_leak
        ),
        "overheats": heat,
        "coolant_loss": 0.8 * f.external_coolant_leak
        + 0.8 * f.head_gasket_coolant
        + 0.8 * f.cracked_head
        + 0.3 * f.warped_head,
        "leaks": max(_leaks(f, fumes).values()),
        "flat_battery": 0.9 * f.no_charge,
        "fumes": fumes,
        "runs_cold": 0.8 * f.thermostat_missing_open,
    }
    return Running(
        seal,
        by_rings,
        tuple(spark),
        battery,
        cranking,
        rich,
        lean,
        flow,
        effort,
        blow_by,
        fumes,
        heat,
        pressure,
        gauge,
        trouble,
    )


def troubles(faults: Mapping[str, float], spots: Spots, *, diesel: bool) -> frozenset[str]:
    """What the owner would bring the engine back for with these faults in it."""
    found = running(faults, spots, diesel=diesel).trouble
    return frozenset(name for name, much in found.items() if much >= FELT[name])


class _Severity:
    """Severity by attribute; 0 for a fault that is not there."""

    def __init__(self, faults: Mapping[str, float]) -> None:
        self._faults = faults

    def __getattr__(self, name: str) -> float:
        return self._faults.get(name, 0.0)


def _noises(f: _Severity) -> dict[str, float]:
    return {
        "knock_deep": 0.95 * f.worn_main_bearings,
        "knock_sharp": 0.95 * f.worn_rod_bearings + 0.3 * f.worn_crank_journals,
        "double_knock": 0.9 * f.worn_piston_pins,
        "tap": 0.75 * f.loose_valve_clearance + 0.6 * f.worn_cam_followers + 0.2 * f.sticking_valve,
        "slap_cold": 0.8 * f.piston_slap + 0.25 * f.worn_bores,
        "ping": 0.75 * f.early_timing + 0.6 * f.carbon_build_up,
        "clatter": 0.8 * f.worn_timing_gears,
        "squeal": 0.7 * f.water_pump_belt,
        "hiss": 0.8 * f.exhaust_leak,
    }


def _smokes(f: _Severity, rich: float, fumes: float) -> dict[str, float]:
    return {
        "blue_pulling": 0.65 * f.worn_rings
        + 0.5 * f.worn_bores
        + 0.5 * f.stuck_rings
        + 0.5 * f.scored_bores
        + 0.15 * f.worn_guides,
        "blue_start": 0.75 * f.worn_guides + 0.15 * f.worn_rings + 0.25 * max(0, fumes - 0.5),
        "black": 0.7 * rich + 0.6 * f.worn_injectors + 0.3 * f.worn_injection_pump,
        "white": 0.75 * f.head_gasket_coolant + 0.8 * f.cracked_head,
        "white_cold": 0.4 * f.failed_cold_aid + 0.3 * f.worn_injectors + 0.3 * f.injection_timing_off,
    }


def _leaks(f: _Severity, fumes: float) -> dict[str, float]:
    push = 0.35 * fumes
    return {
        "rear": 0.95 * f.rear_main_seal + push * f.rear_main_seal,
        "front": 0.95 * f.front_crank_seal,
        "cover": 0.6 * f.external_oil_leak + push,
        "pan": 0.8 * f.external_oil_leak,
        "head": 0.4 * f.warped_head + 0.3 * f.head_gasket_coolant,
    }


def noises(faults: Mapping[str, float]) -> dict[str, float]:
    """Loudness of each noise."""
    return _noises(_Severity(faults))


def smokes(faults: Mapping[str, float], run: Running) -> dict[str, float]:
    """How thick each smoke is."""
    return _smokes(_Severity(faults), run.rich, run.fumes)


def leaks(faults: Mapping[str, float], run: Running) -> dict[str, float]:
    """How wet each place is."""
    return _leaks(_Severity(faults), run.fumes)
