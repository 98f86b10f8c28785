"""Life as statistics: Weibull lives, the first of all parts, spares for a time."""

from __future__ import annotations

import math
from random import Random

import pytest
from malformed import BOARD

from seqc.forecast.spares import first_failure, spares
from seqc.forecast.wear import PartWear
from seqc.language import read_text
from seqc.machine.findings import Findings
from seqc.machine.lifetime import HALF, TENTH, Lifetime, enough, first_failure_h

HOUR_US = 3_600_000_000


def part(operations: int, life: int = 100_000, shape: float = 2.0, kind: str = "relay") -> PartWear:
    """A part that is used so often in an hour."""
    return PartWear(
        f"part {operations}", "life", operations, life, HOUR_US, "relay", "drop", None, kind, shape
    )


def test_a_tenth_does_not_reach_b10() -> None:
    """IEC 61810-2: F(B10) = 10 %; eta = B10 / (-ln 0.9)^(1/b), for b 2 3.081 times B10."""
    life = Lifetime(100.0, 2.0)
    assert 1 - math.exp(-life.hazard(100.0)) == pytest.approx(0.1)
    assert life.scale_h == pytest.approx(308.1, abs=0.05)
    assert 1 - math.exp(-life.hazard(life.scale_h)) == pytest.approx(0.632, abs=1e-3)
    assert Lifetime(10.0, 1.0).mean_h == pytest.approx(10 / 0.105361, rel=1e-5)


def test_the_first_of_many_alike() -> None:
    """Series system: median eta (ln 2)^(1/b) / n^(1/b), by hand for 22 relays of shape 2."""
    life = Lifetime(100.0, 2.0)
    by_hand = 308.07 * math.sqrt(math.log(2)) / math.sqrt(22)
    assert first_failure_h({life: 22}, HALF) == pytest.approx(by_hand, rel=1e-4)
    assert first_failure_h({life: 1}, TENTH) == pytest.approx(100.0)
    assert first_failure_h({}, HALF) is None


def test_the_first_of_parts_used_unequally() -> None:
    """Median eta (ln 2)^(1/b) / (sum of rate^b)^(1/b), all of one scale and shape."""
    rates = (100, 250, 400)
    found = first_failure([part(rate) for rate in rates])
    assert found is not None
    scale = 100_000 / math.sqrt(-math.log(0.9))
    by_hand = scale * math.sqrt(math.log(2)) / math.sqrt(sum(rate**2 for rate in rates))
    assert found.half_h == pytest.approx(by_hand, rel=1e-6)
    assert found.part == "part 400"
    assert found.chance == pytest.approx(400**2 / sum(rate**2 for rate in rates))


def test_the_first_of_mixed_shapes_against_draws() -> None:
    random = Random(7)
    parts = [part(300, shape=1.3), part(200, shape=3.0), part(500, 400_000, 2.0)]
    found = first_failure(parts)
    assert found is not None
    lives = [Lifetime(each.life / each.operations, each.shape) for each in parts]
    firsts = sorted(
        min(random.weibullvariate(life.scale_h, life.shape) for life in lives)
        for _ in range(20_000)
    )
    assert found.half_h == pytest.approx(firsts[10_000], rel=0.02)
    assert found.tenth_h == pytest.approx(firsts[2_000], rel=0.04)


@pytest.mark.parametrize(("shape", "lives"), [(1.0, 2.0), (2.0, 0.5), (2.0, 3.0), (3.5, 20.0)])
def test_renewals_against_draws(shape: float, lives: float) -> None:
    """With shape 1 they come at a constant rate; else as drawn one after the other."""
    life = Lifetime(10.0, shape)
    hours = lives * life.mean_h
    random = Random(3)
    count, runs = 0, 20_000
    for _ in range(runs):
        at = random.weibullvariate(life.scale_h, shape)
        while at < hours:
            count += 1
            at += random.weibullvariate(life.scale_h, shape)
    assert life.renewals(hours) == pytest.approx(count / runs, rel=0.04)
    if shape == 1.0:
        assert life.renewals(hours) == pytest.approx(lives, rel=5e-3)


def test_spares_are_enough_in_nine_of_ten_cases() -> None:
    """Poisson of mean 2: 0.135, 0.406, 0.677, 0.857, 0.947 up to 0, 1, 2, 3, 4."""
    assert enough(2.0, 0.9) == 4
    assert enough(0.05, 0.9) == 0
    assert enough(0.11, 0.9) == 1
    assert 1_000 < enough(1_000.0, 0.9) < 1_060


def test_spares_by_type() -> None:
    parts = [part(1_000), part(500), part(10, 1_000_000, kind="coil"), part(0)]
    relay, coil = spares(parts, 200 * HOUR_US)
    assert (relay.kind, relay.parts, relay.interval_h) == ("relay", 2, 100.0)
    assert relay.mean == pytest.approx(
        Lifetime(100.0, 2.0).renewals(200) + Lifetime(200.0, 2.0).renewals(200)
    )
    assert coil.enough == 0
    assert not spares([part(0)], HOUR_US)


def test_lives_as_they_are_written() -> None:
    text = BOARD.replace(
        "release 6 ms",
        "release 6 ms contact life 100000 B10 shape 1.5 mechanical life 10000000 B10 shape 3",
    ).replace("travel 18 ms", "travel 18 ms life 2000000")
    findings = Findings()
    declared = read_text(text, "board.lanes", findings)
    assert not findings.reported
    assert declared is not None
    drive = declared.machine.actuators[0].drive
    assert drive.relay is not None
    assert (drive.relay.contact_life, drive.relay.contact_shape) == (100_000, 1.5)
    assert (drive.relay.mechanical_life, drive.relay.mechanical_shape) == (10_000_000, 3.0)
    assert declared.machine.gates[0].coil.life_shape == 2.0
