"""Distances are taken apart into cuts that come to no more than they are."""

from __future__ import annotations

from itertools import combinations
from random import Random

from seqc.solver.sections.cuts import PULSE, cuts

SEEDS = range(200)


def test_the_cuts_that_part_two_points_come_to_no_more_than_their_distance() -> None:
    for seed in SEEDS:
        random = Random(seed)
        count = random.randint(2, 6)
        far = [[0] * count for _ in range(count)]
        for one, two in combinations(range(count), 2):
            far[one][two] = far[two][one] = random.randint(1, 4)
        for by in range(count):
            for one in range(count):
                for two in range(count):
                    far[one][two] = min(far[one][two], far[one][by] + far[by][two])
        found = cuts(tuple(map(tuple, far)))
        for one, two in combinations(range(count), 2):
            assert _parted(found, one, two) <= PULSE * far[one][two], seed


def test_points_at_the_corners_of_a_square_are_parted_by_its_two_cuts() -> None:
    corners = range(4)
    far = tuple(tuple((one ^ two).bit_count() for two in corners) for one in corners)
    found = cuts(far)
    assert len(found) == 2
    for one, two in combinations(corners, 2):
        assert _parted(found, one, two) == PULSE * far[one][two]


def test_points_of_a_tree_are_parted_as_far_as_they_are_apart() -> None:
    """Four leaves, two on each side of a branch of length 3, at the end of branches of length 1."""
    far = ((0, 2, 5, 5), (2, 0, 5, 5), (5, 5, 0, 2), (5, 5, 2, 0))
    found = cuts(far)
    for one, two in combinations(range(4), 2):
        assert _parted(found, one, two) == PULSE * far[one][two]


def test_three_points_one_apart_are_parted_by_halves() -> None:
    found = cuts(((0, 1, 1), (1, 0, 1), (1, 1, 0)))
    assert sorted(weight for _, weight in found) == [1, 1, 1]


def _parted(found: tuple[tuple[int, int], ...], one: int, two: int) -> int:
    return sum(weight for side, weight in found if (side >> one ^ side >> two) & 1)
