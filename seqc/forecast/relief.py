"""What pulse switches would do for relays whose contacts are worn out first, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.forecast.wear import PartWear


@dataclass(frozen=True)
class Relief:
    """The part that fails first and the period, as they are and with pulse switches.

    With a pulse switch in the rail contacts switch no current: they live by their mechanical life,
    and another part may be the first to fail. `kept` says whether the cadence still is.
    """

    before: PartWear
    after: PartWear
    period_before_us: int
    period_after_us: int
    kept: bool

    @property
    def times(self) -> float:
        """How many times as long the machine runs until its first part fails."""
        assert self.before.hours is not None
        assert self.after.hours is not None
        return self.after.hours / self.before.hours
