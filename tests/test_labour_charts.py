"""Hours of labour beside published maintenance allocation charts (man-hours), operation by operation.

The charts give active repair time, average, in the field, with diagnosis and inspection in it; howdeep bills checks
apart, so that half an hour less is the same work. Hours are those of the rule base for a four-cylinder engine, before
any sheet.
"""

import pytest

from .published import cited

FOUR = {"engine": 1, "cylinder": 4, "valve": 8, "rod": 4, "main": 5}
CHECKED_APART = 0.5
"""Hours of diagnosis and inspection that a chart counts in and a quote has as checks of their own (judgement)."""


def hours(knowledge, *operations, engine=FOUR):
    """Hours of some operations together on an engine of that many cylinders, valves, rods and mains."""
    return sum(knowledge.operations[name].hours * engine[knowledge.operations[name].per] for name in operations)


@pytest.mark.parametrize(
    ("operations", "low", "high"),
    [
        cited("tm-10-4320-315-24", "p. B-7: cylinder heads replace 3.0", ("remove_refit_head",), 3.0, 5.2),
        cited("tm-5-3895-373-20", "p. B-3: cylinder head replace 5.2, repair 3.5", ("valve_job",), 3.0, 3.5),
        cited("tm-10-4320-315-24", "p. B-7: rocker adjust 1.0", ("set_valve_clearance",), 0.5, 1.0),
        cited(
            "tm-5-3895-373-20",
            "p. B-3: crank bearings replace 8.5",
            ("remove_refit_pan", "renew_rod_bearings", "roll_in_main_bearings"),
            8.0,
            9.0,
        ),
        cited(
            "tm-5-4110-234-14",
            "p. C-7: carburettor replace 1.0, repair 2.0, adjust 0.5",
            ("overhaul_carburettor",),
            3.0,
            3.5,
        ),
        cited("tm-5-4110-234-14", "p. C-7: carburettor adjust 0.5", ("set_slow_running",), 0.3, 0.5),
        cited("tm-5-4110-234-14", "p. C-7: choke adjust 0.5", ("free_choke",), 0.5, 1.0),
        cited("tm-5-4110-234-14", "p. C-7: air cleaner service 0.3", ("service_air_cleaner",), 0.3, 0.5),
        cited("tm-5-4310-379-14", "p. B-6: starter replace 0.5, repair 2.0", ("overhaul_starter",), 2.5, 4.0),
        cited("tm-10-4320-315-24", "p. B-7: alternator replace 1.0, repair 3.0", ("repair_charging",), 1.8, 4.0),
        cited("tm-5-3895-355-14p", "p. C-6: governor adjust 0.5, replace 1.0", ("free_governor",), 0.5, 1.0),
        cited("tm-5-3895-355-14p", "p. C-6: governor adjust to replace", ("renew_governor_springs",), 0.5, 1.0),
        cited("tm-5-3895-355-14p", "p. C-6: linkage replace 0.4", ("free_throttle",), 0.4, 2.5),
        cited("tm-5-3895-355-14p", "p. C-6: water pump replace 2.0, repair 1.0", ("renew_water_pump_belt",), 2.0, 3.0),
        cited("tm-5-3895-355-14p", "p. C-6: thermostat 1.0", ("renew_thermostat",), 0.5, 1.0),
        cited("tm-5-3895-355-14p", "p. C-6: hoses 0.5 each, two", ("renew_coolant_hoses",), 0.5, 1.0),
        cited("tm-5-3895-355-14p", "p. C-6: lines 1.0, tank repair 1.0, filter 0.2", ("clear_fuel_supply",), 1.0, 2.2),
        cited("tm-5-3895-355-14p", "p. C-6: exhaust replace 1.0", ("clear_exhaust",), 1.0, 2.0),
        cited(
            "tm-5-3810-306-20",
            "p. B-7: radiator replace 3.5, repair 4.0; and 2.0 each in a smaller machine",
            ("flush_cooling",),
            2.0,
            4.0,
        ),
        cited("tm-10-8145-222-23", "table 1: cooling system service 1.0, repair 1.5", ("cure_coolant_leak",), 1.0, 1.5),
        cited("tm-10-8145-222-23", "table 1: glow plugs test 0.3, replace 0.5", ("renew_cold_aid",), 0.5, 2.0),
        cited(
            "tm-10-8145-222-23", "table 1: fuel feed pump service 0.6, replace 1.0", ("stop_fuel_into_sump",), 1.0, 1.6
        ),
        cited("tm-10-8145-222-23", "table 1: fuel filter 0.5", ("bleed_fuel",), 0.5, 1.0),
        cited("tm-5-4320-273-14", "table 4-1: battery 0.3", ("charge_or_replace_battery",), 0.3, 1.0),
        cited(
            "tm-5-3895-373-20", "p. B-3: engine service 1.5; 0.5 to 1.0 for small ones", ("oil_and_filter",), 0.5, 1.5
        ),
    ],
)
def test_hours_lie_in_the_span_of_the_charts_less_what_is_checked_apart(shipped, operations, low, high):
    assert max(low - CHECKED_APART, min(low, 0.3)) <= hours(shipped, *operations) <= high


@pytest.mark.parametrize(
    ("operations", "low", "high"),
    [
        cited(
            "tm-5-3895-360-13",
            "p. B-3: pistons and rods 1.0, rings and bearings 1.0; cylinder replace 1.5",
            ("re_ring", "renew_rod_bearings"),
            1.0,
            2.5,
        )
    ],
)
def test_a_single_cylinder_takes_what_its_chart_says(shipped, operations, low, high):
    one = {"engine": 1, "cylinder": 1, "valve": 2, "rod": 1, "main": 2}
    assert low <= hours(shipped, *operations, engine=one) <= high
