"""The timing chart of a stretch, after the time sequence diagrams of IEC 61082-1.

Time runs to the right, a row for each actuator that does anything: above, its outputs as bars; in
the middle its coil, forward above the line and reverse below it; and its part as a line that is low
at rest and high when thrown, aslant while it moves. Grey bands tell how much sooner or later an end
may come. Then come items on their way, and the current of each supply under its limit.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element

from seqc.machine.electrics import MILLION
from seqc.machine.model import Machine
from seqc.machine.parts import Gate
from seqc.machine.wiring import Actuator
from seqc.report.drawings.bands import Band, arrival_band, settled_band
from seqc.report.drawings.svg import Drawing, drawing, tag, write
from seqc.report.drawings.tracks import Flight, Span, Tracks, shared_outputs, supply_steps

LEFT, RIGHT, TOP, BOTTOM = 132, 24, 34, 34
ROW, GAP = 54, 6
OUTPUTS_HIGH, COIL_HIGH = 10, 8
OUTPUT_ROW, PATH_ROW, SUPPLY_ROW = 16, 26, 74
WIDTH = 1040
LEGEND = (
    "Above, outputs; coil forward above its line, reverse below it; the part low at rest and high "
    "when thrown, shaded while a gate is open; grey: how much sooner or later."
)
TICKS_US = tuple(step * 10**power for power in range(3, 8) for step in (1, 2, 5))
MOST_TICKS = 14


class Chart:
    """A chart that is being drawn."""

    def __init__(self, machine: Machine, tracks: Tracks, title: str) -> None:
        self.machine, self.tracks = machine, tracks
        self.actuators = [
            actuator
            for actuator in machine.actuators
            if actuator.index in tracks.coils or actuator.index in tracks.motions
        ]
        self.paths = sorted({(flight.grid, flight.place) for flight in tracks.flights})
        self.shared = {
            output: name
            for output, name in shared_outputs(machine).items()
            if output in tracks.outputs
        }
        high = TOP + BOTTOM + len(self.actuators) * (ROW + GAP)
        high += len(self.shared) * (OUTPUT_ROW + GAP)
        high += len(self.paths) * (PATH_ROW + GAP) + len(machine.supplies) * (SUPPLY_ROW + GAP)
        told = f"{len(self.actuators)} actuators in {tracks.length_us / 1000:.0f} ms"
        self.drawing = drawing(WIDTH, high, title, told)
        self.root = self.drawing.root
        self.y = float(TOP)

    def x(self, at_us: float) -> float:
        """Where a time is."""
        return LEFT + (WIDTH - LEFT - RIGHT) * at_us / max(1, self.tracks.length_us)

    def draw(self) -> Drawing:
        """All of it."""
        self._axis()
        for output, name in self.shared.items():
            self._row(name, OUTPUT_ROW)
            self._output(output, self.y + 5, OUTPUT_ROW - 10)
            self.y += OUTPUT_ROW + GAP
        for actuator in self.actuators:
            self._row(actuator.name, ROW)
            self._outputs(actuator)
            self._coil(actuator)
            self._part(actuator)
            self.y += ROW + GAP
        for grid, place in self.paths:
            self._way(grid, place)
        for supply in self.machine.supplies:
            self._supply(supply.name)
        write(self.root, LEFT, self.drawing.height - 12, LEGEND, "small faint")
        return self.drawing

    def _axis(self) -> None:
        length = self.tracks.length_us
        step = next((s for s in TICKS_US if length / s <= MOST_TICKS), TICKS_US[-1])
        for at_us in range(0, length + 1, step):
            x = self.x(at_us)
            bottom = self.drawing.height - BOTTOM
            tag(self.root, "path", "axis", d=f"M{x:.2f} {TOP - 6}V{bottom:.2f}")
            write(self.root, x, TOP - 12, f"{at_us / 1000:g}", "small faint middle")
        write(self.root, LEFT - 12, TOP - 12, "ms", "small faint end")

    def _row(self, name: str, high: float) -> None:
        tag(self.root, "rect", "row", x=LEFT, y=self.y, width=WIDTH - LEFT - RIGHT, height=high)
        write(self.root, LEFT - 12, self.y + high / 2 + 4, name, "small end")

    def _bar(self, span: Span | Flight, kind: str, y: float, high: float) -> Element:
        left, right = self.x(span.start_us), self.x(span.end_us)
        bar = tag(self.root, "rect", kind, x=left, y=y, width=max(0.5, right - left), height=high)
        bar.set("data-from", str(span.start_us))
        bar.set("data-to", str(span.end_us))
        return bar

    def _outputs(self, actuator: Actuator) -> None:
        pitch = OUTPUTS_HIGH / len(actuator.outputs)
        for rank, output in enumerate(actuator.outputs):
            self._output(output, self.y + 2 + rank * pitch, pitch - 1)

    def _output(self, output: int, y: float, high: float) -> None:
        for span in self.tracks.outputs.get(output, ()):
            self._bar(span, "output", y, high).set("data-output", str(output))

    def _coil(self, actuator: Actuator) -> None:
        middle = self.y + 21
        tag(self.root, "path", "axis strong", d=f"M{LEFT} {middle:g}H{WIDTH - RIGHT}")
        for span in self.tracks.coils.get(actuator.index, ()):
            forward = span.value > 0
            y = middle - COIL_HIGH if forward else middle
            bar = self._bar(span, "forward" if forward else "reverse", y, COIL_HIGH)
            bar.set("data-coil", str(actuator.index))

    def _part(self, actuator: Actuator) -> None:
        """The part's line: low at rest, high when thrown, with the bands of its ends."""
        low, high = self.y + ROW - 4, self.y + 34
        thrown = self.tracks.thrown.get(actuator.index)
        y = (low + high) / 2 if thrown is None else high if thrown else low
        points = [(0, y)]
        opened: int | None = 0 if thrown else None
        band = settled_band(actuator)
        for span in self.tracks.motions.get(actuator.index, ()):
            target = high if span.value else low
            self._band(span.end_us, band, min(target, y), abs(target - y) or 1)
            if isinstance(actuator.part, Gate) and not span.value and opened is not None:
                self._open(opened, span.start_us, high, low)
            points += [(span.start_us, y), (span.end_us, target)]
            y, opened = target, span.end_us if span.value else None
        if isinstance(actuator.part, Gate) and opened is not None:
            self._open(opened, self.tracks.length_us, high, low)
        points.append((self.tracks.length_us, y))
        way = "L".join(f"{self.x(at):.2f} {level:g}" for at, level in points)
        tag(self.root, "path", "part", d=f"M{way}").set("data-part", str(actuator.index))

    def _open(self, start_us: int, end_us: int, high: float, low: float) -> None:
        self._bar(Span(start_us, end_us, 1), "open", high, low - high)

    def _band(self, at_us: int, band: Band, y: float, high: float) -> None:
        left, right = self.x(at_us - band.early_us), self.x(at_us + band.late_us)
        if right > left:
            tag(self.root, "rect", "band", x=left, y=y, width=right - left, height=high)

    def _way(self, grid: int, place: int) -> None:
        lane = self.machine.lanes[grid]
        path = lane.paths[place - 1] if place <= len(lane.paths) else None
        many = f"{lane.grid.name}: " if len(self.machine.lanes) > 1 else ""
        name = f"{many}{path.source} to {path.target}" if path else f"{many}out"
        self._row(name, PATH_ROW)
        band = arrival_band(self.machine, lane, place)
        for flight in self.tracks.flights:
            if (flight.grid, flight.place) != (grid, place):
                continue
            left, right = self.x(flight.start_us), self.x(flight.end_us)
            top, bottom = self.y + 5, self.y + PATH_ROW - 5
            tag(self.root, "path", "flight", d=f"M{left:.2f} {top:g}L{right:.2f} {bottom:g}")
            self._band(flight.end_us, band, self.y + 3, PATH_ROW - 6)
        self.y += PATH_ROW + GAP

    def _supply(self, name: str) -> None:
        supply = next(one for one in self.machine.supplies if one.name == name)
        usable_a = (supply.usable_ua + supply.always_ua) / MILLION
        steps = supply_steps(self.machine, self.tracks, name)
        highest = max([usable_a, *(drawn / MILLION for _, drawn in steps)]) * 1.15 or 1.0
        self._row(name, SUPPLY_ROW)
        floor = self.y + SUPPLY_ROW

        def level(amperes: float) -> float:
            return floor - (SUPPLY_ROW - 4) * amperes / highest

        way = [f"M{LEFT} {floor:g}"]
        for at_us, drawn in steps:
            way.append(f"H{self.x(at_us):.2f}V{level(drawn / MILLION):.2f}")
        way.append(f"H{WIDTH - RIGHT}V{floor:g}z")
        tag(self.root, "path", "current", d="".join(way))
        tag(self.root, "path", "limit", d=f"M{LEFT} {level(usable_a):.2f}H{WIDTH - RIGHT}")
        write(self.root, WIDTH - RIGHT - 4, level(usable_a) - 4, f"{usable_a:.2f} A", "small end")
        self.y += SUPPLY_ROW + GAP


def timing_chart(machine: Machine, tracks: Tracks, title: str) -> Drawing:
    """The chart of a stretch."""
    return Chart(machine, tracks, title).draw()
