"""What the customer's own words say outright: offered to be confirmed, never taken for said."""

import pytest

from howdeep.interview.own_words import complaints_said, said_in

# Written down before they were run, as people talk at a counter: plain, misspelt, with what has nothing to do with it.
# (words, complaints offered with the main one first, answers offered)
SENTENCES = [
    ("it only clicks when I press the starter", "wont_start", "cranking_sound=click"),
    ("Won't start. Battery was new in spring, it just goes clunk", "wont_start", "cranking_sound=click"),
    (
        "my dads old tracter wont start, it turns over fine but not even a cough",
        "wont_start",
        "turns_over=yes fires_at_all=no",
    ),
    (
        "She smokes blue going up the hill and drinks oil, a quart every day",
        "smokes uses_oil",
        "oil_use=quart_500_miles_or_10h smoke_pulling=blue_light",
    ),
    ("hard to start in the mornings, have to use ether", "hard_start", "start_needs=ether"),
    (
        "Starts fine cold but wont restart when its hot, have to wait till it cools down",
        "hard_start",
        "start_cold=easy start_hot=never",
    ),
    ("oil lite flickers at tickover when its hot", "oil_pressure", "oil_light_gauge_hot_idle=low"),
    ("Boils over every time i mow, loosing water but I cant see a leak", "overheats coolant_loss", ""),
    ("seized solid, been stood in a barn since grandad died", "stuck stood", "kept=indoors"),
    ("milky oil on the dipstick", "", "oil_look=milky"),
    ("making a horrible knocking noise from low down when it pulls", "knocks", "noise=knock_deep noise_when=pulling"),
    ("no compresion and no power, bought it at an auction", "no_power", "told_compression=low_all"),
    ("black smoke and wont pull the skin off a rice pudding", "smokes no_power", "power=down_much"),
    ("popping back thru the carb when I open her up", "", "backfire=carburettor backfire_when=pulling"),
    ("Missing on one cylinder, new plugs and points last month", "misfires", "misfire=one_steady recent_work=ignition"),
    (
        "oil dripping out the back where the clutch is and my wife is annoyed about the drive",
        "leaks",
        "leak_rear=drips",
    ),
    ("it stood for years in the orchard, want it to run again for the rally", "stood", "stood=years kept=open"),
    ("The gauge is in the red after ten minutes from cold", "overheats", "overheats=after_minutes"),
    ("runs for half an hour then cuts out, starts again when its cooled down", "", "stops_itself=hot_minutes"),
    ("water in the oil", "", "oil_look=milky"),
    ("a puff of blue smoke when I start it then it clears", "smokes", "smoke_start=blue_puff"),
    ("hunting up and down on the governer", "", "hunting=yes"),
    ("wont tick over, stalls at the lights, fine once moving", "", "idle_speed=stalls"),
    (
        "does not smoke, does not use any oil, just slow to start when cold",
        "hard_start",
        "smoke_any=no oil_use=none start_cold=long",
    ),
    ("Its the green one, dave said youd look at it before thursday", "", ""),
    ("can you give it a service and tell me what it needs", "check_over", ""),
    ("engine turns slowly, sounds like a flat battery", "", "cranking_sound=slow"),
    ("starter just spins with a whirring noise and engine dosnt turn", "wont_start", "cranking_sound=grinds"),
    ("I had the head off last winter, now theres bubbles in the radiater", "", "recent_work=head coolant_bubbles=yes"),
    ("ran out of diesel and wont go since", "wont_start", "last_stop=ran_dry"),
    ("keeps running when I turn the key off", "", "runs_on=yes"),
    (
        "pressure guage drops to nothing when hot, fine when its cold",
        "oil_pressure",
        "oil_light_gauge_hot_idle=zero",  # what is fine when cold is not said again
    ),
    ("No smoke, no noise, starts well, just leaks", "leaks", "smoke_any=no noise=none"),
    ("petrol dripping from the carb", "leaks", "leak_fuel=yes leak_fuel_where=carburettor"),
    ("noise like marbles in a tin when pulling up hill", "knocks", "noise=ping noise_when=pulling"),
    # heard later, each mended or kept as it is
    ("Turns over lovely but wont fire, smell petrol", "wont_start", "cranking_sound=strong"),
    ("cuts out after about 20 minutes then restarts when its cooled off", "", "stops_itself=hot_minutes"),
    ("Its been parked up in the barn for ten years, want it for the show", "stood", "stood=years kept=indoors"),
    ("engine speeds up and slows down on its own", "", "hunting=yes"),
    ("battery light is on and it cranks slow in the morning", "", "cranking_sound=slow"),
    (
        "tappets are noisey and the oil light stays on when its idling",
        "knocks oil_pressure",
        "noise=tap oil_light_gauge_hot_idle=zero",
    ),
    ("used to smoke but I had the rings done, now it has no pull", "no_power", "recent_work=bottom"),
]


@pytest.mark.parametrize(("words", "complaints", "answers"), SENTENCES)
def test_what_is_said_outright_is_offered_and_nothing_else(shipped, words, complaints, answers):
    assert complaints_said(shipped, words) == tuple(complaints.split())
    # what the complaint itself says is not asked again
    held = {name for told in complaints.split() for name in shipped.observations["complaint"].implies.get(told, ())}
    found = {f"{said.question}={said.answer}" for said in said_in(shipped, words) if said.question not in held}
    assert {entry for entry in found if not entry.startswith("complaint=")} == set(answers.split())
