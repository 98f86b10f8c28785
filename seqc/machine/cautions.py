"""Cautions that are said in several places, so that they are said alike."""

from __future__ import annotations

DRY_V = 60
WET_V = 30
"""Direct voltages that may be touched where it is dry and where it may be wet (IEC 60364-4-41)."""

EXTRA_LOW = (
    f"at most {DRY_V} V d.c., and {WET_V} V d.c. where it may be wet, from an isolating source "
    "(SELV or PELV, IEC 60364-4-41)"
)

SUPPLY_OFF = "Connect and disconnect nothing while the supply is on."

CODES_DECIDE = "Local codes decide, and licensed practice where they ask for it."

IN_SHORT = (
    "Caution: connect and disconnect nothing while the supply is on; a coil held on burns, moving "
    "parts pinch. Local codes and licensed practice decide."
)
"""What stands in the head of every file of firmware, and beside what commands say of a machine."""
