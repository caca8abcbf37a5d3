"""A mechanic's tree with its tests: what a good hand without figures would do. Common practice, written down once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .actions import Action, Case, Check, Do, Stop
from .works import REPLACE, Works
from .world import sheet_of

OUTSIDE_FIRST = {
    "overheats": ("blocked_radiator_passages", "thermostat_stuck_shut", "water_pump_belt"),
    "coolant_loss": ("external_coolant_leak",),
    "leaks": ("external_oil_leak", "front_crank_seal"),
    "oil_pressure": ("false_oil_gauge", "wrong_thin_oil", "oil_level_low"),
    "no_power": ("dirty_air_cleaner", "fuel_starvation", "exhaust_leak"),
    "smokes": ("blocked_breather", "dirty_air_cleaner"),
    "hard_start": ("weak_battery", "bad_cables"),
    "wont_start": ("weak_battery", "stale_fuel", "fuel_starvation"),
}


def _low(case: Case, name: str, share: float) -> bool:
    """Whether a compression reading lies below a share of the best cylinder, or of a sound engine's on all."""
    readings = [float(text.split()[0]) for text in case.given.get(name, ())]
    return bool(readings) and min(readings) < share * max(*readings, 0.9 * sheet_of(case.works.engine).compression)


def _number(case: Case, name: str, stand_in: float) -> float:
    return float(str(case.given.get(name, stand_in)).split()[0])


@dataclass(frozen=True)
class Tree:
    """Forty lines: battery, spark and fuel first; compression before the head; noise and pressure before the pan."""

    name: str = "mechanic's tree, with tests"

    def act(self, case: Case) -> Action:
        g, petrol = case.given, case.works.facts["engine.fuel"] == "petrol"
        wish = self.test(case, g, petrol)
        if wish is not None and case.checks < 3:
            return wish
        if case.found:
            return Do(max(case.works.need[name] for name in case.found), case.found)
        aimed, depth = self.verdict(case, g, petrol)
        known = frozenset(name for name in aimed if name in case.works.need and name not in case.cured)
        depth = max([depth, *(case.works.need[name] for name in known)])
        if depth <= case.depth and not known:
            depth = case.depth + 1
        return Do(depth, known) if depth <= REPLACE else Stop()

    def test(self, case: Case, g: Mapping[str, Any], petrol: bool) -> Check | None:
        """The first test of the tree that was not made yet."""
        starts = g.get("complaint") in ("hard_start", "wont_start", "stood")
        can = g.get("turns_over") != "stuck"
        if starts and "battery_rest" not in g and can:
            return Check(("battery_rest", "battery_cranking", "cable_drop"), 20)
        if starts and petrol and "spark" not in g and can:
            return Check(("spark", "spark_cylinders", "fuel_flow", "fuel_sample"), 24)
        if starts and not petrol and "bleed_diesel" not in g:
            return Check(("bleed_diesel", "fuel_flow", "fuel_sample", "cold_aid_check"), 42)
        if g.get("complaint") in ("misfires", "no_power", "smokes", "uses_oil") and "compression_dry" not in g and can:
            return Check(("compression_dry", "compression_wet"), 45)
        if g.get("complaint") in ("coolant_loss", "overheats") and "combustion_gas_test" not in g:
            return Check(("combustion_gas_test", "radiator_flow", "thermostat_check"), 50)
        if g.get("complaint") in ("oil_pressure", "knocks") and "oil_pressure_idle" not in g:
            return Check(("oil_pressure_idle", "oil_pressure_speed", "oil_gauge_check"), 40)
        return None

    def verdict(self, case: Case, g: Mapping[str, Any], petrol: bool) -> tuple[list[str], int]:
        """(causes to cure, least depth)."""
        volts, sheet = float(case.works.facts["engine.volts"]), case.works
        if g.get("turns_over") == "stuck":
            return ["seized_engine"], 4
        if g.get("combustion_gas_test") == "yes" or g.get("oil_look") == "milky":
            return ["head_gasket_coolant", "warped_head"], 2
        if g.get("noise") == "knock_deep" or (g.get("noise") == "knock_sharp" and g.get("noise_when") != "cold_only"):
            return ["worn_rod_bearings", "worn_main_bearings"], 3
        low_oil = _number(case, "oil_pressure_idle", 99) < 0.6 * _sound(sheet)
        if low_oil and g.get("oil_gauge_check") != "gauge_false":
            return ["worn_rod_bearings", "worn_oil_pump", "worn_main_bearings"], 3
        if _low(case, "compression_dry", 0.72):
            pairs = zip(g["compression_dry"], g.get("compression_wet", g["compression_dry"]), strict=True)
            rise = max(float(wet.split()[0]) / max(1.0, float(dry.split()[0])) for dry, wet in pairs)
            return (["worn_rings"], 3) if rise > 1.12 else (["burnt_exhaust_valve"], 2)
        if g.get("oil_use") == "worse" or g.get("smoke_pulling") == "blue_heavy":
            return ["worn_rings"], 3
        if g.get("smoke_start") == "blue_puff" or g.get("smoke_overrun") == "blue_puff":
            return ["worn_guides"], 2
        if g.get("leak_rear") == "drips":
            return ["rear_main_seal"], 0
        aimed = list(OUTSIDE_FIRST.get(g.get("complaint"), ()))
        if _number(case, "battery_rest", 99) < volts * 1.025:
            aimed += ["weak_battery", "no_charge"]
        if _number(case, "cable_drop", 0) > 0.2:
            aimed.append("bad_cables")
        if g.get("fuel_flow") in ("weak", "none"):
            aimed.append("fuel_starvation")
        if g.get("fuel_sample") == "stale_gum":
            aimed.append("stale_fuel")
        if g.get("cold_aid_check") == "dead":
            aimed.append("failed_cold_aid")
        if g.get("bleed_diesel") == "bubbles":
            aimed.append("air_in_fuel")
        if petrol and (g.get("spark") in ("weak", "none") or g.get("misfire", "none") != "none"):
            return [*aimed, "bad_points", "weak_coil_condenser", "cracked_cap_leads", "fouled_plugs"], 1
        wants_tuning = g.get("complaint") in ("no_power", "misfires", "knocks", "check_over")
        return aimed, 1 if wants_tuning or case.depth >= 0 else 0


def _sound(works: Works) -> float:
    return sheet_of(works.engine).pressure_idle
