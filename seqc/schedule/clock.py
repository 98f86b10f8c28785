"""How long the load of one grid takes by itself, for the solver to choose between orders."""

from __future__ import annotations

from seqc.machine.glyphs import Frame
from seqc.machine.model import Machine
from seqc.schedule.frame import change_alone, load_alone
from seqc.schedule.topology import Topology
from seqc.solver.plan import FramePlan, GridPlan


class ScheduleClock:
    """The solver's load clock, by the schedule itself."""

    def __init__(self, machine: Machine) -> None:
        self.topology = Topology(machine)

    def load_us(self, plan: GridPlan) -> tuple[int, int]:
        """The load time of a grid by itself and the least it could be.

        It is the change time where the passes are the change, since the lane has no transfer gate.
        """
        frame = FramePlan(Frame((plan.glyph,)), (plan,))
        lane = self.topology.lane_of_grid(plan.glyph.grid)
        stretch = (load_alone if lane.transfers else change_alone)(self.topology, frame)
        return stretch.reached_us, stretch.bound_us
