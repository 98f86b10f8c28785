"""A load that is timed only as far as it is of use is told truly, and whole when asked again."""

from __future__ import annotations

from random import Random

import pytest
from reference.schedule_machines import random_machine, random_plans

from seqc.schedule.clock import ScheduleClock


@pytest.mark.thorough
def test_no_load_is_told_to_be_sooner_or_later_than_it_is() -> None:
    sooner = cut = 0
    for seed in range(40):
        random = Random(seed)
        machine = random_machine(random)
        for plan, *_ in random_plans(random, machine, 4):
            best_us, least_us = ScheduleClock(machine).load_us(plan)
            if least_us < best_us or not best_us:
                continue
            for useful_us in (0, best_us * 9 // 10, best_us, best_us + 1):
                clock = ScheduleClock(machine)
                load_us, least_us = clock.load_us(plan, useful_us=useful_us)
                assert min(best_us, useful_us) <= least_us <= best_us <= load_us, seed
                assert load_us == best_us or useful_us <= best_us
                cut += least_us < best_us
                sooner += best_us < load_us
                assert clock.load_us(plan) == (best_us, best_us)
    assert sooner
    assert cut
