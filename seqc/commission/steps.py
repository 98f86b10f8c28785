"""The steps of bring-up, in order: what to do, what to watch, and what may be wrong."""

from __future__ import annotations

from typing import NamedTuple

from seqc.machine.cautions import IN_SHORT
from seqc.schedule.commissioning import Step


class Guide(NamedTuple):
    """What a person needs for one step."""

    title: str
    do: tuple[str, ...]
    watch: tuple[str, ...]
    wrong: tuple[str, ...]


CAUTIONS = (
    IN_SHORT,
    "Keep hands, hair and sleeves out of the machine: it moves without a warning.",
    "Have a switch in reach that cuts the supply of the coils, beside the key that stops.",
    "Limit the supply's current to what the first steps take, and fit the fuse.",
)

FIRST = Guide(
    "Before the power",
    (
        "Check the wiring against the wiring list, with the supply off.",
        "Unplug every coil. Fill no magazine yet.",
        "Switch the supply on with its current limited to what the relays take.",
        "Connect the controller. Press home.",
    ),
    (
        "Nothing moves at power-on. With home relays click one after the other.",
        "The supply stays within its limit, nothing gets warm.",
    ),
    (
        "A relay that pulls in at power-on: its output, or the resistor that holds it inactive.",
        "Nothing clicks: output enable, latch, the supply of the relays.",
    ),
)

GUIDES: dict[Step, Guide] = {
    Step.ACTUATORS: Guide(
        "Each actuator to each side",
        (
            "Switch the supply off, plug in the coils of one part, switch it on again.",
            "Play the table of each actuator. Raise the current limit as coils are plugged in.",
        ),
        (
            "The actuator that is named moves to thrown and back to rest, and no other.",
            "It stays where it is without current. No coil gets warm.",
        ),
        (
            "It moves the other way: its two wires are swapped.",
            "Another moves: two coils, or two outputs, are exchanged.",
            "It moves one way only: one relay, its output, or friction.",
            "Nothing moves: plug, fuse, the contact, a jammed part.",
        ),
    ),
    Step.LANES: Guide(
        "One item down each lane",
        ("Put a few items into each magazine.", "Play each table, and look at every lane."),
        ("In each lane of the group one item of the kind that is named comes to be seen.",),
        (
            "No item: the magazine is empty, the lane is blocked, the gate doesn't open.",
            "Another kind: the selector doesn't move, or the magazines are exchanged.",
            "Two items: the gate is open for too long, or its cells are worn.",
        ),
    ),
    Step.KINDS: Guide(
        "Frames of one kind",
        ("Fill the magazines.", "Play each frame, and mark what is seen."),
        ("Every cell that can shows the kind that is named.",),
        ("A whole row or column is wrong: what moves it. One cell is wrong: its lane.",),
    ),
    Step.TESTS: Guide(
        "Test frames",
        ("Play the frames in order, and mark what is seen of each.",),
        ("They are drawn so that each fault shows; look at every cell.",),
        ("The suspects name what explains all that was seen, likeliest first.",),
    ),
    Step.GLYPHS: Guide(
        "The glyphs of the fonts",
        ("Play each glyph.",),
        ("It looks as it is drawn, and it lies still at the end.",),
        ("Go back to the test frames.",),
    ),
    Step.PROGRAMME: Guide(
        "The programme, from slow to the declared cadence",
        ("Play it at each cadence, the slowest first.",),
        ("Every frame is right, and at rest before the next one comes.",),
        (
            "Wrong at a fast cadence alone: a time is declared too short; see tuning.",
            "Coils get warm: the duty, the voltage, the air.",
        ),
    ),
    Step.TUNING: Guide(
        "Tuning",
        (
            "Play the values of one setting a few times each, and say whether the last frame was "
            "right.",
            "`tune` tells the window, a value with a margin, and the line for the machine file.",
        ),
        ("Each value is played as a machine that declares it, never beyond what a coil bears.",),
        ("A value that is right now and then is wrong.",),
    ),
    Step.DRAINING: Guide(
        "Draining",
        ("Block what brings items back. Play until nothing comes any more.",),
        ("Each time five items of the kind leave each lane.",),
        ("An item that stays: the lane is blocked.",),
    ),
    Step.PARKING: Guide(
        "Parking",
        ("Play it before the power goes.",),
        ("Every part is at rest. Then the supply may be switched off.",),
        (),
    ),
}
