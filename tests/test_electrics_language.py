"""What machine files tell of winding, leads, suppression, contacts and places."""

import pathlib

import pytest
from clock_file import GRID, PICK, SMALL, TEXT, changed, errors, machine_of

from seqc.machine.clearance import Point, clearance_findings
from seqc.machine.parts import Cell
from seqc.machine.suppression import Suppression
from seqc.machine.winding import Winding

RICH = (
    "coil small { 12 V 8 ohm 8 mH pulse 40 ms travel 18 ms pull in 1.2 A"
    " winding mass 18 g insulation class B"
    " thermal resistance 9.5 K/W leads AWG 24 length 1.5 m varistor magnet clearance 30 mm }"
)


def test_a_coil_tells_its_winding_and_leads(tmp_path: pathlib.Path) -> None:
    coil = machine_of(changed(SMALL, RICH), tmp_path).actuators[0].coil
    assert coil.winding == Winding(1_200_000, 18_000, "B", 9_500)
    # Published AWG table: 24 has 84.20 ohm/km; 1.5 m of leads are 3 m of wire.
    assert coil.lead
    assert coil.lead.ohms == pytest.approx(3 * 84.20e-3, rel=0.005)
    assert coil.suppression is Suppression.VARISTOR
    assert coil.magnet_clearance_um == 30_000


def test_leads_by_their_area(tmp_path: pathlib.Path) -> None:
    text = changed("travel 18 ms }", "travel 18 ms leads 0.5 mm2 length 2 m }")
    lead = machine_of(text, tmp_path).actuators[0].coil.lead
    assert lead
    # IEC 60028: 0.017241 ohm mm2/m; 4 m of 0.5 mm2.
    assert lead.ohms == pytest.approx(0.017241 * 4 / 0.5)


@pytest.mark.parametrize("kind", Suppression)
def test_each_suppression_has_its_words(kind: Suppression, tmp_path: pathlib.Path) -> None:
    text = changed("travel 18 ms }", f"travel 18 ms {kind.value} }}")
    assert machine_of(text, tmp_path).actuators[0].coil.suppression is kind


def test_a_relay_tells_its_contact_rating(tmp_path: pathlib.Path) -> None:
    text = changed("release 5 ms", "release 5 ms contact life 100000 rating 10 A")
    relay = machine_of(text, tmp_path).actuators[0].drive.relay
    assert relay
    assert (relay.contact_ua, relay.contact_life) == (10_000_000, 100_000)


PLACED = (
    "grid face { columns 1 rows 1 copies 4 lanes at 10 mm 0 mm lane pitch 20 mm 25 mm"
    " lanes depth 5 mm lanes start 100 mm }"
)
MAGNETS = (
    "selector pick { per row coil small magnets at -12 mm -40 mm magnet pitch 0 mm 25 mm"
    " magnets depth 5 mm }"
)


def test_places_give_a_clearance(tmp_path: pathlib.Path) -> None:
    text = changed(GRID, PLACED).replace(SMALL, RICH).replace(PICK, MAGNETS)
    text = text.replace("tone dark", "tone dark steel diameter 8 mm", 1)
    clearance = machine_of(text, tmp_path).clearance
    assert clearance
    (field,) = clearance.fields
    assert field.ends(Cell(1, 1)) == (Point(10_000, -100_000, 5_000), Point(10_000, 0, 5_000))
    (magnet,) = clearance.magnets
    assert (magnet.actuator, magnet.centre) == ("face_1.pick.r1", Point(-12_000, -40_000, 5_000))
    (finding,) = clearance_findings(clearance)
    assert "at 22.0 mm, 8.0 mm nearer than the magnet clearance of 30 mm" in finding.message
    assert finding.place.line == 6


def test_without_a_distance_there_is_no_clearance(tmp_path: pathlib.Path) -> None:
    text = changed(GRID, PLACED).replace(PICK, MAGNETS)
    assert machine_of(text, tmp_path).clearance is None


def test_each_actuator_of_a_part_has_its_magnet(tmp_path: pathlib.Path) -> None:
    text = changed(GRID, PLACED.replace("rows 1 ", "rows 3 "))
    text = text.replace(SMALL, RICH).replace(PICK, MAGNETS)
    for digit in range(10):
        row = f"|{'#.'[digit % 2]}|"
        text = text.replace(f'"{digit}" {{ {row} }}', f'"{digit}" {{ {row} {row} {row} }}')
    clearance = machine_of(text, tmp_path).clearance
    assert clearance
    downs = [magnet.centre.down_um for magnet in clearance.magnets]
    assert downs == [-40_000, -15_000, 10_000]


@pytest.mark.parametrize(
    "new,expected",
    [
        ("travel 18 ms insulation class C }", "11:72 unknown-class"),
        ("travel 18 ms leads AWG 22 }", "11:55 half-leads"),
        ("travel 18 ms leads AWG 60 length 1 m }", "11:65 out-of-range"),
        ("travel 18 ms length 2 m }", "11:55 half-leads"),
        ("travel 18 ms leads 0.5 length 2 m }", "11:61 missing-unit"),
        ("travel 18 ms leads 0.5 m length 2 m }", "11:61 wrong-dimension"),
        ("travel 18 ms pull in 3 V }", "11:63 wrong-dimension"),
        ("travel 18 ms winding mass 12 mm }", "11:68 wrong-dimension"),
        ("travel 18 ms varistor plain diode }", "11:64 excluded-setting"),
        ("travel 18 ms pull 1 A }", "11:55 incomplete-setting"),
    ],
)
def test_what_is_wrong_with_a_coil(new: str, expected: str) -> None:
    assert errors(changed("travel 18 ms }", new)) == [expected]


@pytest.mark.parametrize(
    "old,new,expected",
    [
        ("copies 4", "copies 4 lane pitch 2 mm 2 mm", "4:39 no-first-place"),
        ("per row coil small", "per row coil small magnets depth 2 mm", "6:36 no-first-place"),
        ("per row coil small", "per row coil small magnets at 2 mm", "6:36 missing-value"),
    ],
)
def test_what_is_wrong_with_places(old: str, new: str, expected: str) -> None:
    assert errors(changed(old, new)) == [expected]


def test_the_plain_file_is_sound() -> None:
    assert errors(TEXT) == []
