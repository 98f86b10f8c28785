"""The time of one frame by itself: load, change, and the pulses of both."""

from __future__ import annotations

from dataclasses import dataclass

from seqc.machine.model import Machine
from seqc.schedule.builder import Builder
from seqc.schedule.chain import Link, critical_chain
from seqc.schedule.effects import quiet_us
from seqc.schedule.pulses import Pulse, in_order
from seqc.schedule.search import NODES
from seqc.schedule.shortest import fill_in, pulses_of, reach
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan


@dataclass(frozen=True, slots=True)
class Stretch:
    """Pulses from time 0 on, when what they are for is reached, and the least it could take.

    `quiet_us` is when no pulse bounds anything any more, `links` what keeps it from being shorter.
    """

    pulses: tuple[Pulse, ...]
    reached_us: int
    bound_us: int
    quiet_us: int
    links: tuple[Link, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether nothing is shorter."""
        return self.reached_us == self.bound_us


@dataclass(frozen=True, slots=True)
class FrameTiming:
    """The pulses of a frame from a quiet machine at time 0 until it is quiet again at `quiet_us`.

    The load runs from time 0 until its last item lies still above the last transfer gate. The
    change starts at `change_at_us`, when the load is over and quiet, and takes `change_us` until
    every new item lies still in the place that is seen. Each is the shortest, or `load_bound_us`
    and `change_bound_us` say how short it could be at best.
    """

    pulses: tuple[Pulse, ...]
    load_time_us: int
    load_bound_us: int
    change_at_us: int
    change_us: int
    change_bound_us: int
    quiet_us: int

    @property
    def proven(self) -> bool:
        """Whether load and change are proven shortest."""
        return (self.load_time_us, self.change_us) == (self.load_bound_us, self.change_bound_us)


def time_frame(machine: Machine, plan: FramePlan, nodes: int = NODES) -> FrameTiming:
    """Schedule one frame by itself, its load and its change each as short as can be."""
    return time_on(Topology(machine), plan, nodes)


def time_on(topology: Topology, plan: FramePlan, nodes: int = NODES) -> FrameTiming:
    """The same with the distances of a topology."""
    load = load_alone(topology, plan, nodes)
    change = change_alone(topology, plan, nodes)
    at_us = max(load.reached_us, load.quiet_us)
    return FrameTiming(
        in_order([*load.pulses, *(pulse.later(at_us) for pulse in change.pulses)]),
        load.reached_us,
        load.bound_us,
        at_us,
        change.reached_us,
        change.bound_us,
        at_us + change.quiet_us,
    )


def load_alone(topology: Topology, plan: FramePlan, nodes: int = NODES) -> Stretch:
    """The shortest load of a frame from a quiet machine."""
    builder = Builder(topology)
    return _stretch(builder, builder.load(plan), nodes)


def change_alone(topology: Topology, plan: FramePlan, nodes: int = NODES) -> Stretch:
    """The shortest change to a frame that is loaded, from a quiet machine."""
    builder = Builder(topology)
    return _stretch(builder, builder.change(plan).seen, nodes)


def _stretch(builder: Builder, goal: int, nodes: int) -> Stretch:
    problem = builder.problem()
    found = reach(problem, goal, (), nodes)
    starts = fill_in(problem, found.starts)
    pulses = pulses_of(builder, dict(enumerate(starts)))
    quiet = quiet_us(builder.topology, pulses)
    links = critical_chain(problem, found.starts, goal)
    return Stretch(pulses, found.value_us, found.bound_us, quiet, links)
