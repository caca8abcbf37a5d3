"""The engine sheet: the figures of one engine model."""

from __future__ import annotations

from dataclasses import field
from typing import Literal

from .frozen import dataclass
from .sources import Source
from .terms import CONFIG

YesNo = Literal["yes", "no"]


class StandIn(str):
    """A figure of a kind of engine, with its unit: it stands in for one that nobody gave, and says so wherever it
    judges. Equal to the bare text; `basis` names it.
    """

    basis: str

    def __new__(cls, text: str, basis: str) -> StandIn:
        made = super().__new__(cls, text)
        made.basis = basis
        return made

    def __getnewargs__(self) -> tuple[str, str]:  # type: ignore[override]  # that of str hands on the text alone
        return str(self), self.basis


@dataclass(frozen=True, slots=True)
class Build:
    """How the engine is built: this decides what each scope can cure. Every field is also a fact `engine.<field>`."""

    __pydantic_config__ = CONFIG

    fuel: Literal["petrol", "diesel"]
    """Petrol also stands for petrol/kerosene engines."""
    layout: Literal["side_valve", "overhead_valve"]
    """Where the valves stand."""
    cylinders: int
    """1 to 6."""
    use: Literal["farm", "marine", "stationary", "light_vehicle"]
    """What it is for."""
    bores: Literal["wet_sleeves", "dry_sleeves", "in_block"]
    """Removable wet sleeves, dry sleeves, or bores cut in the block."""
    bearings: Literal["inserts", "babbitt"]
    """Insert shells, or poured white metal with shims."""
    mains_in_frame: YesNo
    """Whether main bearings can be renewed with the crankshaft in place."""
    pan_in_frame: YesNo
    """Whether the oil pan comes off with the engine in place, so that rods and pistons can be reached."""
    rear_seal: Literal["rope", "lip", "slinger"]
    """Rear crankshaft seal."""
    rear_seal_needs: Literal["pan_off", "split", "engine_out"]
    """What must come apart for the rear seal."""
    guides: Literal["pressed", "integral"]
    """Valve guides."""
    seats: Literal["inserted", "cast"]
    """Valve seats."""
    head_takes_resurfacing: YesNo
    """Whether the head may be skimmed."""
    frame: Literal["in_frame", "is_frame", "bench"]
    """The engine sits in a frame, is itself the frame of the machine (a split is needed), or stands on the bench."""
    volts: Literal["6", "12", "none"]
    """Electrical system."""
    ignition: Literal["battery", "magneto", "none"]
    """Ignition; none for a diesel."""
    hand_crank: YesNo
    """Whether it has a starting handle."""
    electric_start: YesNo
    """Whether it has a starter motor."""
    oiling: Literal["pressure", "splash", "part_splash"]
    """How it is oiled."""
    oil_gauge: YesNo
    """Whether it has an oil-pressure gauge."""
    cooling: Literal["pump", "thermosiphon", "hopper", "raw_water", "air"]
    """How it is cooled."""
    valve_rotators_sodium: YesNo = "no"
    """Whether the exhaust valves are sodium-filled."""
    governor: YesNo = "yes"
    """Whether it is governed."""
    cold_aid: Literal["none", "glow_plugs", "intake_heater"] = "none"
    """Cold-start aid of a diesel."""
    carburettor: Literal["none", "updraft", "downdraft", "sidedraft"] = "none"
    """Carburettor; none for a diesel."""
    oil_cooler: YesNo = "no"
    """Whether it has an oil cooler in the coolant."""
    gearbox_shares_oil: YesNo = "no"
    """Whether engine and gearbox share the oil."""


@dataclass(frozen=True, slots=True)
class Fit:
    """A clearance or size band with its wear limit."""

    __pydantic_config__ = CONFIG

    low: str = ""
    """Low limit new, with unit."""
    high: str = ""
    """High limit new, with unit."""
    wear: str = ""
    """Wear limit, with unit."""
    source: tuple[Source, ...] = ()
    """Where the figure comes from."""


@dataclass(frozen=True, slots=True)
class Journal:
    """Journals of one kind and the bearings sold for them."""

    __pydantic_config__ = CONFIG

    size: Fit
    """Standard diameter, low and high; wear: smallest diameter before regrinding."""
    clearance: Fit
    """Oil clearance with its band and replace limit."""
    undersizes: tuple[str, ...] = ()
    """Undersizes sold, with unit, standard not listed."""
    out_of_round: str = ""
    """Limit, with unit."""
    taper: str = ""
    """Limit, with unit."""
    smallest: str = ""
    """Smallest diameter to which it may be ground, with unit."""
    count: int = 0
    """How many; 0: rods as many as cylinders."""
    width: str = ""
    """Width of the bearing, with unit."""


@dataclass(frozen=True, slots=True)
class Torque:
    """One tightening figure."""

    __pydantic_config__ = CONFIG

    value: str
    """Final figure, with unit; the upper one where the maker gives a range."""
    least: str = ""
    """Lower figure of the maker's range, with unit; empty where there is one figure."""
    size: str = ""
    """Thread, e.g. '7/16-14' or 'M10'."""
    grade: str = ""
    """Grade of the fastener, e.g. '5' or '8.8'."""
    stages: tuple[str, ...] = ()
    """Stages, with units, the last one the final figure; without them the sheet does not say."""
    lubricated: Literal["yes", "no", ""] = ""
    """Whether the thread is oiled; empty where the sheet does not say."""
    count: int = 0
    """How many fasteners."""
    source: tuple[Source, ...] = ()
    """Where the figure comes from."""


@dataclass(frozen=True, slots=True)
class Engine:
    """One engine model. A missing figure falls back to a general limit, and the output says so."""

    __pydantic_config__ = CONFIG

    name: str
    """Name of the engine."""
    build: Build
    """How it is built."""
    bore: Fit
    """Standard bore, low and high, and the wear limit as an amount of wear."""
    stroke: str
    """Stroke, with unit."""
    firing_order: tuple[int, ...]
    """Firing order."""
    note: str = ""
    """What kind of engine this is; invented engines say so."""
    compression_ratio: float | None = None
    """Compression ratio."""
    cranking_compression: Fit | None = None
    """Maker's cranking compression: low and high when sound, wear: lowest serviceable; at sea level."""
    cranking_rpm: str = ""
    """Cranking speed the figure belongs to."""
    compression_spread: str = ""
    """Most that the cylinders may differ, with unit, e.g. '10 psi'."""
    compression_spread_percent: str = ""
    """Most that the lowest may fall short of the highest, e.g. '15 percent'. Where the sheet gives both, both hold."""
    compression_above: str = ""
    """How far a reading may stand above the highest figure before it speaks for carbon, with unit, e.g. '10 psi'."""
    wet_rise: str = ""
    """Rise with oil that speaks for rings or bore, with unit, e.g. '10 psi'."""
    wet_rise_percent: str = ""
    """The same as a share of the dry reading, e.g. '10 percent'. Where the sheet gives both, either tells."""
    blow_by: str = ""
    """Most blow-by, with unit, e.g. '60 ft3/h'."""
    blow_by_rpm: str = ""
    """Speed that the blow-by figure belongs to."""
    bore_taper: str = ""
    """Limit of bore taper."""
    bore_out_of_round: str = ""
    """Limit of bore out-of-round."""
    piston_clearance: Fit = Fit()
    """Skirt clearance."""
    piston_skirt: str = ""
    """Nominal skirt diameter of a standard piston."""
    oversizes: tuple[str, ...] = ()
    """Piston and ring oversizes sold, with unit, standard not listed."""
    ring_gap: Fit = Fit()
    """Ring end gap."""
    ring_side: Fit = Fit()
    """Ring side clearance."""
    rings_per_piston: int = 4
    """Rings on each piston."""
    sleeve_protrusion: Fit = Fit()
    """Stand-out of a wet sleeve over the deck."""
    crankpins: Journal | None = None
    """Crankpins and rod bearings."""
    mains: Journal | None = None
    """Main journals and bearings."""
    end_play: Fit = Fit()
    """Crankshaft end play."""
    pin_clearance: Fit = Fit()
    """Piston pin in its bushing."""
    valve_stem_inlet: Fit = Fit()
    """Inlet stem in guide."""
    valve_stem_exhaust: Fit = Fit()
    """Exhaust stem in guide."""
    valve_margin: str = ""
    """Least margin of a valve head."""
    seat_width: Fit = Fit()
    """Valve seat width; of the inlets alone where `seat_width_exhaust` is given."""
    seat_width_exhaust: Fit = Fit()
    """Width of the exhaust seats, where it is not that of the inlets."""
    spring_load: Fit = Fit()
    """Valve spring load at its checking length, with unit; wear: least serviceable."""
    spring_length: str = ""
    """Length at which the spring is checked."""
    cam_lift: Fit = Fit()
    """Lift of a cam lobe at its follower; of the inlets alone where `cam_lift_exhaust` is given."""
    cam_lift_exhaust: Fit = Fit()
    """Lift of the exhaust lobes, where it is not that of the inlets."""
    head_flatness: str = ""
    """Limit of head warp."""
    deck_flatness: str = ""
    """Limit of deck warp."""
    lash_inlet: str = ""
    """Inlet valve clearance, with unit."""
    lash_exhaust: str = ""
    """Exhaust valve clearance, with unit."""
    lash_state: Literal["hot", "cold", ""] = ""
    """Whether lash is set hot or cold."""
    oil_pressure_idle: Fit = Fit()
    """Hot at idle."""
    oil_pressure_speed: Fit = Fit()
    """Hot at governed or road speed."""
    cap_pressure: str = ""
    """Radiator cap pressure."""
    ignition_timing: str = ""
    """Ignition or injection timing as a mechanic writes it."""
    points_gap: Fit = Fit()
    """Contact-breaker gap."""
    plug_gap: Fit = Fit()
    """Spark-plug gap."""
    torques: dict[str, Torque] = field(default_factory=dict)
    """head, main, rod, flywheel, manifold, injector ..."""
    fluids: dict[str, str] = field(default_factory=dict)
    """oil, coolant ...: grade and quantity."""
    hours: dict[str, float] = field(default_factory=dict)
    """Operation -> hours on this engine."""
    value_running: str = ""
    """What the machine is worth running, with currency, e.g. '3400.00'."""
    replacement: str = ""
    """Price of a sound replacement engine, fitted."""
    source: tuple[Source, ...] = ()
    """Where the figures come from."""
    sure: dict[str, str] = field(default_factory=dict)
    """Figure that is questioned and right all the same, e.g. 'lash_inlet' or 'torques.head.value' -> why."""
    assumed: tuple[str, ...] = ()
    """What nobody has looked up yet and is taken as is usual for such an engine, e.g. 'build.guides'."""
