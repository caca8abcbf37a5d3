"""The sheets of the bench as values: steps, cautions, parts, proofs, sizes, and blanks to fill in."""

from __future__ import annotations

from ..model.frozen import dataclass
from ..model.terms import Stage


@dataclass(frozen=True, slots=True)
class SheetStep:
    """One step of the assembly sheet."""

    text: str
    blank: bool
    """Whether a figure is to be written in."""
    figures: tuple[str, ...] = ()
    """The figures in the text, in their order, to be set large."""
    blanks: int = 0
    """How many figures are to be written in."""
    each: str = ""
    """What they are numbered by: cylinder, main, crankpin, inlet_valve, exhaust_valve; empty for a single one."""


@dataclass(frozen=True, slots=True)
class SheetCaution:
    """A caution on a sheet."""

    mark: str
    """Letter by which it is named again."""
    title: str
    text: str
    """What to do; empty where it stands on the sheet already."""


@dataclass(frozen=True, slots=True)
class SheetPart:
    """What one operation has to do at one stage: cautions first, then its steps there."""

    operation: str
    title: str
    cautions: tuple[SheetCaution, ...]
    """Those that bite here, in full where the sheet has not told them yet."""
    steps: tuple[SheetStep, ...]
    renew: tuple[str, ...]
    """Parts that are always renewed."""
    stage: Stage
    """Stage of the work; parts of one stage stand together."""


@dataclass(frozen=True, slots=True)
class ProofLine:
    """One test, as it was before and as it is to be after."""

    check: str
    title: str
    before: str
    """The old reading; empty where it was not made."""
    fields: int
    """Blanks to fill in, one for each cylinder or one."""
    each: tuple[str, ...] = ()
    """The old readings one by one, where it was read for each cylinder, journal or valve."""
    wanted: str = ""
    """What the engine sheet gives for it; empty where it gives nothing."""


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A size that the measurements chose."""

    fact: str
    title: str
    size: str
    measured_from: str
    """Title of the measurement it comes from."""
    rejected: tuple[str, ...]
    """Why each other size was not taken."""
    confirmed: str
    """The second check that was made, and what it said; empty where none was."""
    confirm: str
    """How it is confirmed before assembly; empty where the rule base does not say."""


@dataclass(frozen=True, slots=True)
class Sheets:
    """The assembly sheet and the proof sheet of a job."""

    parts: tuple[SheetPart, ...]
    proof: tuple[ProofLine, ...]
    run_in: tuple[str, ...]
    cautions: tuple[SheetCaution, ...] = ()
    """Those that much of the assembly needs, told once at its head."""
    sizes: tuple[SizeLine, ...] = ()
    journals: tuple[str, ...] = ()
    """What the journals measured, and what is done with them and why."""
    strip: tuple[SheetPart, ...] = ()
    """What is done while the engine comes apart, where the job opens it."""
    strip_cautions: tuple[SheetCaution, ...] = ()


@dataclass(frozen=True, slots=True)
class BlankRow:
    """One observation to be filled in by hand."""

    observation: str
    title: str
    ask: str
    wanted: str
    """What the engine sheet gives for it, with its limit; or that it gives nothing; empty where it is held to none."""
    unit: str
    answers: tuple[str, ...]
    """Of a choice: its answers, in the order in which the bench numbers them."""
    places: tuple[str, ...]
    """Where it is taken, e.g. 'top, thrust'; one empty one where it is taken at one place."""
    count: int
    """How many cylinders, journals or valves it is taken for."""
    each: str
    """What they are; empty where it is taken once."""
    marks: tuple[str, ...] = ()
    """Letters of the cautions at the head of the sheet that bite here."""

    @property
    def beside(self) -> str:
        """What stands beside its title: the sheet's figure, named as such, or that the sheet gives none."""
        return f"sheet: {self.wanted}" if self.wanted and not self.wanted.startswith("no ") else self.wanted


@dataclass(frozen=True, slots=True)
class BlankSheet:
    """A sheet to be filled in by hand."""

    title: str
    cautions: tuple[SheetCaution, ...]
    conditions: tuple[BlankRow, ...]
    """Conditions of a valid test."""
    rows: tuple[BlankRow, ...]
    """In the order in which they are typed in, as things stand: a figure may change what is asked next."""
    how: tuple[tuple[str, str], ...]
    """(title, how it is made)."""
    strip: tuple[SheetPart, ...]
    """What is done while the engine comes apart."""
    minutes: float
