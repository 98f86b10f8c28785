"""Reads quantities with their tolerances: `16 ms +- 2 ms`, `16 ms +- 10 %`, `5 ms to 8 ms`."""

from __future__ import annotations

from seqc.language.quantities import SHARE, TIME, unit_of
from seqc.language.schema import Entry, Measure
from seqc.language.source import Number, Piece, PlusMinus, Word
from seqc.language.values import Amount, ValueReader
from seqc.machine.findings import Place
from seqc.machine.span import PPM, Tolerance
from seqc.machine.wording import quoted

WHOLE = Measure(SHARE, 0, PPM)
SIGN = "+-"


class TolerantReader(ValueReader):
    """Reads a quantity together with the tolerance that may stand behind it."""

    def measure(self, entry: Entry, kind: Measure) -> Amount | None:
        """A quantity, and what it may be off by."""
        amount = super().measure(entry, kind)
        joint = self.cursor.peek()
        if amount is None or not self._is_joint(joint):
            return amount
        self.cursor.at += 1
        assert joint is not None
        if not kind.varies:
            self._needless(entry, kind, joint.place)
            return None
        if not isinstance(self.cursor.peek(), Number):
            after = joint.text if isinstance(joint, Word) else SIGN
            message = f"{entry.title} needs a quantity after `{after}`"
            self.report("missing-value", message, joint.place, _hint(entry))
            self.cursor.skip_values()
            return None
        if isinstance(joint, Word):
            return self._up_to(entry, kind, amount)
        return self._plus_minus(entry, kind, amount)

    def _is_joint(self, piece: Piece | None) -> bool:
        if isinstance(piece, Word):
            return piece.text == "to" and isinstance(self.cursor.peek(1), Number)
        return isinstance(piece, PlusMinus)

    def _plus_minus(self, entry: Entry, kind: Measure, amount: Amount) -> Amount | None:
        """What a quantity may be off by either way, in its own unit or as a share of it."""
        unit = self.cursor.peek(1)
        known = unit_of(unit.text) if isinstance(unit, Word) else None
        is_share = known is not None and known.dimension is SHARE
        off = super().measure(entry, WHOLE if is_share else kind._replace(low=0))
        if off is None:
            return None
        text = f"{amount.text} {SIGN} {off.text}"
        if not is_share and off.value > amount.value:
            message = f"{entry.title} may be off by more than it is: `{text}`"
            self.report("too-tolerant", message, off.place, _hint(entry))
            return None
        even = Tolerance(off.value, off.value)
        around = Tolerance.share(amount.value, off.value) if is_share else even
        return amount._replace(text=text, tolerance=around)

    def _up_to(self, entry: Entry, kind: Measure, least: Amount) -> Amount | None:
        """The most after the least; the nominal value is in their middle, rounded up."""
        most = super().measure(entry, kind)
        if most is None:
            return None
        if most.value < least.value:
            message = f"{entry.title} goes down, from {least.text} to {most.text}"
            hint = f"write `{entry.phrase} {most.text} to {least.text}`"
            self.report("range-reversed", message, least.place, hint)
            return None
        middle = -(-(least.value + most.value) // 2)
        around = Tolerance(middle - least.value, most.value - middle)
        return Amount(middle, f"{least.text} to {most.text}", least.place, around)

    def _needless(self, entry: Entry, kind: Measure, place: Place) -> None:
        message = f"{entry.title} has no tolerance"
        if kind.dimension is TIME:
            message += ", since it is asked of the schedule"
        varying = quoted(other.phrase for other in self.cursor.schema.varying)
        hint = f"write `{entry.example}`"
        if varying:
            hint += f"; what may have one here: {', '.join(varying)}"
        self.report("needless-tolerance", message, place, hint)
        self.cursor.skip_values()


def _hint(entry: Entry) -> str:
    example = entry.example.partition(f" {SIGN}")[0]
    return f"write `{example} {SIGN} 5 %`, or the least `to` the most"
