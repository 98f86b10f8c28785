"""Small tables with which a machine is brought up: any of them may follow any, at once."""

from seqc.schedule.commissioning.named import Commissioning, Named, Step, Trait
from seqc.schedule.commissioning.whole import commissioning, frame_of

__all__ = ["Commissioning", "Named", "Step", "Trait", "commissioning", "frame_of"]
