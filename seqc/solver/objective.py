"""What makes one plan better than another, after the number of its passes."""

from __future__ import annotations

from enum import Enum


class Objective(Enum):
    """What counts next after the passes; the other of the two decides among equals."""

    PULSES = "pulses"
    LOAD_TIME = "load time"
