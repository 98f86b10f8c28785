"""Replays step tables against a machine, and reports what is seen and every fault on the way."""

from seqc.simulator.defects import SOUND, Defects
from seqc.simulator.faults import Event, Fault, FaultKind
from seqc.simulator.replay import Glyphs, Replay, check, replay, replay_edges
from seqc.simulator.samples import Samples, Weakness, check_bounds, sample
from seqc.simulator.simulator import Picture, Seen, Simulator

__all__ = [
    "SOUND",
    "Defects",
    "Event",
    "Fault",
    "FaultKind",
    "Glyphs",
    "Picture",
    "Replay",
    "Samples",
    "Seen",
    "Simulator",
    "Weakness",
    "check",
    "check_bounds",
    "replay",
    "replay_edges",
    "sample",
]
