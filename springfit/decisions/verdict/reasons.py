"""One sentence for each verdict, with the numbers behind it in the shop's own unit."""

from __future__ import annotations

from springfit.decisions.evidence import Fault
from springfit.lengths import from_mm

__all__ = ["Voice"]


class Voice:
    """Says lengths in one unit and builds the sentences; units: "mm" or "in" (small lengths then in thou)."""

    def __init__(self, units: str) -> None:
        self.units = units

    def small(self, mm: float) -> str:
        """A small length per side, such as `0.118 mm` or `4.6 thou`."""
        return f"{from_mm(mm, 'thou'):.1f} thou" if self.units == "in" else f"{mm:.3f} mm"

    def place(self, mm: float) -> str:
        """A station, such as `z 412.0 mm` or `z 16.22 in`."""
        return f"z {from_mm(mm, 'in'):.2f} in" if self.units == "in" else f"z {mm:.1f} mm"

    def chance(self, share: float) -> str:
        """A chance in whole per cent, never rounded to certainty."""
        if share > 0.99:
            return "over 99 %"
        return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"

    @staticmethod
    def more(batches: int) -> str:
        """How many batches still have to be measured, in words that agree with the number."""
        return f"{batches} more measured {'batch' if batches == 1 else 'batches'}"

    def unmeasured(self, batches: int) -> str:
        """Nothing sound has been measured on this steel."""
        return (
            f"no sound bell of this revision of the mandrel has been measured: spin and measure {batches} batches "
            "before any steel is judged"
        )

    def unsolved(self, left: float) -> str:
        """The inverse did not close."""
        return (
            f"no mandrel was found whose predicted bell is the target (still {self.small(left)} off), so no cut can "
            "be stated"
        )

    def nothing_to_judge(self) -> str:
        """Every row is masked."""
        return "no row of the target can be judged: it shares no unmasked station with the trimmed bell"

    def fault(self, fault: Fault, z_from: float, z_to: float, rest: str) -> str:
        """A process fault, and what would be said without it."""
        way = "larger" if fault.size_mm >= 0 else "smaller"
        return (
            f"{len(fault.bells)} of {fault.bells_seen} bells are {self.small(abs(fault.size_mm))} {way} per side "
            f"from {self.place(z_from)} to {self.place(z_to)}, more than springback can do ({fault.reason}): fix "
            f"that in the spinning, cut no steel there; elsewhere: {rest}"
        )

    def scattered(self, least: float, error: float, batches: int) -> str:
        """The batches differ by more than the error."""
        return (
            f"the means of {batches} batches scatter by at least {self.small(least)} (1 sd), more than the largest "
            f"error of {self.small(abs(error))}: one cut cannot suit them, make the batches alike first"
        )

    def within(self, error: float, z: float, tolerance: float) -> str:
        """Everything is within tolerance."""
        return (
            f"the largest error is {self.small(error)} per side at {self.place(z)}, within the tolerance of "
            f"{self.small(tolerance)}"
        )

    def slide(self, slide: float, allowance: float, before: float, after: float, tolerance: float) -> str:
        """A slide explains it."""
        way = "rim" if slide >= 0 else "tail"
        return (
            f"moving the bell {self.small(abs(slide))} toward the {way} (the target allows {self.small(allowance)}) "
            f"brings the largest error from {self.small(abs(before))} to {self.small(after)}, within "
            f"{self.small(tolerance)}: no steel needs cutting"
        )

    def new_flare(self, error: float, z: float, chance: float, move: float | None, allowance: float) -> str:
        """Steel is lacking and no allowed move helps."""
        start = (
            f"at {self.place(z)} the bell is {self.small(-error)} per side too small (chance {self.chance(chance)} of "
            "being out of tolerance) and steel cannot be added"
        )
        if move is None:
            return f"{start}; it lies too near the cylinder for a move along the axis to help"
        return (
            f"{start}; the whole flare would have to move {self.small(move)} toward the rim to make every row a "
            f"removal, and the target allows {self.small(allowance)}"
        )

    def lacking_unsure(self, error: float, z: float, chance: float, batches: int) -> str:
        """Steel seems lacking, not surely."""
        return (
            f"at {self.place(z)} the bell is forecast {self.small(-error)} per side too small, with a chance of "
            f"{self.chance(chance)} of being out of tolerance: {self.more(batches)} would settle whether a new "
            "flare is needed"
        )

    def recut(self, cut: float, z: float, error: float, before: float, after: float, move: float) -> str:
        """Cut now."""
        placed = ""
        if abs(move) >= 0.0005:
            turned = f", with the whole line turned {self.small(move)} further toward the rim,"
            slid = f", and moving the bell {self.small(-move)} toward the rim,"
            placed = turned if move > 0 else slid
        return (
            f"taking {self.small(cut)} per side off at {self.place(z)}{placed} answers a largest error of "
            f"{self.small(error)}, and lowers the chance of a batch out of tolerance from {self.chance(before)} to "
            f"{self.chance(after)}"
        )

    def wait(self, error: float, z: float, sure: float, least: float, batches: int) -> str:
        """The error is out of tolerance, the cautious cut too small."""
        return (
            f"the bell is forecast {self.small(error)} per side out at {self.place(z)}, but only {self.small(sure)} "
            f"of cut is sure enough, less than the {self.small(least)} worth setting up for: {self.more(batches)} "
            "would settle it"
        )

    def unwritten(self, error: float, z: float, columns: tuple[str, ...]) -> str:
        """What is blank may have been such that hardly anything is to come off."""
        names = ", ".join(name.removesuffix("_mm").replace("_", " ") for name in columns)
        return (
            f"the bell is forecast {self.small(error)} per side out at {self.place(z)}, but with {names} blank it may "
            "as well need no cut worth setting up for: write down how it will be spun, then ask again"
        )

    def unsettled(self, error: float, z: float, sure: float, most: int) -> str:
        """Neither cut nor wait is of use."""
        return (
            f"the bell is forecast {self.small(error)} per side out at {self.place(z)}, only {self.small(sure)} of "
            f"cut is sure enough, and not even {most} more batches would make it worth cutting"
        )
