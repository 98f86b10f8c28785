"""What can go wrong with a machine, which frames show it, and what explains what was seen."""

from seqc.faults.diagnosis import Diagnosis, Examiner, Suspect, diagnose
from seqc.faults.fault import Fault, FaultKind, Spot
from seqc.faults.frames import TestFrames, find_test_frames
from seqc.faults.hidden import Hidden, Why
from seqc.faults.likelihood import Evidence
from seqc.faults.listing import faults_of, held_in
from seqc.faults.narrowing import NextTable, next_table
from seqc.faults.seen_file import Play, SeenFile, read_seen
from seqc.faults.sight import NOT_LOOKED, Sight
from seqc.faults.trials import BEFORE, Look, Tabling, home_of, plain_tables

__all__ = [
    "BEFORE",
    "NOT_LOOKED",
    "Diagnosis",
    "Evidence",
    "Examiner",
    "Fault",
    "FaultKind",
    "Hidden",
    "Look",
    "NextTable",
    "Play",
    "SeenFile",
    "Sight",
    "Spot",
    "Suspect",
    "Tabling",
    "TestFrames",
    "Why",
    "diagnose",
    "faults_of",
    "find_test_frames",
    "held_in",
    "home_of",
    "next_table",
    "plain_tables",
    "read_seen",
]
