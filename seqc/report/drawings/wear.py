"""What wears, warms and runs out, as charts: lives on a scale of time by tens, with their scatter.

A life is a distribution (Weibull): a bar runs from the time that 1 % don't reach to the one that
half of the parts don't, with a dot where it is 10 %, the rated life.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from seqc.forecast.result import Forecast
from seqc.forecast.span import lived, spoken
from seqc.forecast.spares import lifetime_of
from seqc.machine.lifetime import Lifetime
from seqc.report.drawings.svg import Drawing, drawing, tag, write

WIDTH, LEFT, RIGHT, ROW, TOP, BOTTOM = 760, 200, 100, 30, 30, 26
SHARES = (0.01, 0.1, 0.5)
MARKS_H = (
    (1, "1 h"),
    (10, "10 h"),
    (24, "1 d"),
    (240, "10 d"),
    (2_400, "100 d"),
    (8_766, "1 a"),
    (87_660, "10 a"),
    (876_600, "100 a"),
)
BARS_WIDTH, BARS_LEFT = 500, 90
MOST_ROWS = 14


def reached_h(life: Lifetime, share: float) -> float:
    """The time that a share of parts doesn't reach: the inverse of 1 - exp(-(t/eta)^b)."""
    return float(life.scale_h * math.pow(-math.log1p(-share), 1 / life.shape))


def wear_chart(forecast: Forecast) -> Drawing:
    """The lives of each type of part at its hardest use, those that end first on top."""
    first: dict[tuple[str, str], Lifetime] = {}
    for part in forecast.parts:
        life = lifetime_of(part)
        if life is not None:
            key = f"{part.moves}: {part.kind}", part.limit
            known = first.get(key)
            if known is None or life.b10_h < known.b10_h:
                first[key] = life
    rows = sorted(first.items(), key=lambda row: row[1].b10_h)[:MOST_ROWS]
    title = f"life of the parts of {forecast.machine.name} under {forecast.programme}"
    told = "; ".join(f"{name}, {limit}: {lived(life.b10_h)}" for (name, limit), life in rows)
    chart = drawing(WIDTH, TOP + BOTTOM + ROW * max(1, len(rows)), title, told)
    if not rows:
        write(chart.root, LEFT, TOP + 16, "no rated life is declared", "faint")
        return chart
    lowest = min(reached_h(life, SHARES[0]) for _, life in rows)
    highest = max(reached_h(life, SHARES[-1]) for _, life in rows)
    x = _log_scale(chart, lowest, highest, forecast.tally.running_us / 3_600_000_000)
    for rank, ((name, limit), life) in enumerate(rows):
        y = TOP + ROW * rank + ROW / 2
        write(chart.root, LEFT - 10, y - 1, name, "small end")
        write(chart.root, LEFT - 10, y + 11, limit, "small faint end")
        ends = [x(reached_h(life, share)) for share in SHARES]
        tag(chart.root, "rect", "open", x=ends[0], y=y - 5, width=ends[2] - ends[0], height=10)
        tag(chart.root, "path", "whisker", d=f"M{ends[0]:.2f} {y}H{ends[2]:.2f}")
        tag(chart.root, "circle", "dot", cx=ends[1], cy=y, r=4)
        write(chart.root, min(ends[2] + 8, WIDTH - RIGHT + 6), y + 4, lived(life.b10_h), "small")
    return chart


def _log_scale(
    chart: Drawing, lowest_h: float, highest_h: float, asked_h: float
) -> Callable[[float], float]:
    """A scale of time by tens, with its marks and the time that was asked for."""
    low = math.log10(min(lowest_h, asked_h)) - 0.05
    high = math.log10(max(highest_h, asked_h)) + 0.05

    def x(hours: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * (math.log10(hours) - low) / (high - low)

    bottom = chart.height - BOTTOM
    for hours, words in MARKS_H:
        if low <= math.log10(hours) <= high:
            tag(chart.root, "path", "axis", d=f"M{x(hours):.2f} {TOP}V{bottom:g}")
            write(chart.root, x(hours), bottom + 15, words, "small faint middle")
    tag(chart.root, "path", "limit", d=f"M{x(asked_h):.2f} {TOP - 6}V{bottom:g}")
    words = f"asked for: {lived(asked_h)}"
    write(chart.root, x(asked_h), TOP - 12, words, "small middle")
    return x


def heat_chart(forecast: Forecast) -> Drawing:
    """How warm the hottest coil of each type gets, under the limit of its class."""
    hottest: dict[str, tuple[float, float | None]] = {}
    for state in forecast.coils:
        if state.steady_c is not None:
            limit = state.actuator.coil.winding.limit_c
            name = state.actuator.coil.name
            if name not in hottest or state.steady_c > hottest[name][0]:
                hottest[name] = state.steady_c, limit
    rows = [(name, warm, limit, f"{warm:.0f} C") for name, (warm, limit) in hottest.items()]
    empty = "no coil tells its duty and class, or its thermal resistance"
    return _bars(f"warmth of the coils of {forecast.machine.name}", rows, empty, "class")


def stock_chart(forecast: Forecast) -> Drawing:
    """The stock of each kind, under what the time needs."""
    rows = []
    for kind in forecast.stocks:
        stock = kind.item.stock
        if stock is not None:
            lasts = "without end" if kind.lasting_us is None else spoken(kind.lasting_us)
            rows.append((kind.item.name, stock, kind.needed, f"{stock:,}: {lasts}"))
    return _bars(f"stock of {forecast.machine.name}", rows, "no stock is declared", "needed")


def _bars(
    title: str, rows: Sequence[tuple[str, float, float | None, str]], empty: str, limit: str
) -> Drawing:
    told = "; ".join(f"{name} {words}" for name, _, _, words in rows) or empty
    chart = drawing(BARS_WIDTH, TOP + ROW * max(1, len(rows)), title, told)
    if not rows:
        write(chart.root, 2, TOP + 10, empty, "faint")
        return chart
    highest = max(max(value, most or 0) for _, value, most, _ in rows) or 1
    room = BARS_WIDTH - BARS_LEFT - 130
    for rank, (name, value, most, words) in enumerate(rows):
        y = TOP + ROW * rank
        write(chart.root, BARS_LEFT - 10, y + 14, name, "small end")
        tag(
            chart.root, "rect", "bar", x=BARS_LEFT, y=y + 4, width=room * value / highest, height=14
        )
        end = BARS_LEFT + room * max(value, most or 0) / highest
        write(chart.root, end + 10, y + 15, words, "small")
        if most is not None:
            x = BARS_LEFT + room * most / highest
            tag(chart.root, "path", "limit", d=f"M{x:.2f} {y}V{y + 22}")
            if rank == 0:
                write(chart.root, x, y - 6, limit, "small faint middle")
    return chart
