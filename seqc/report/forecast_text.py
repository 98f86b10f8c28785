"""The forecast as plain text."""

from __future__ import annotations

from collections.abc import Iterator

from seqc.forecast.relief import Relief
from seqc.forecast.result import Forecast
from seqc.forecast.span import energy, lived, priced, spoken
from seqc.forecast.stock import KindStock, Load
from seqc.forecast.wear import PartWear
from seqc.machine.cautions import SUPPLY_OFF
from seqc.machine.duty import CoilState
from seqc.machine.fuse import PULSES
from seqc.machine.model import Machine
from seqc.report.plan_text import ms

SHOWN_FATES = 6
SMALL_A = 0.1

CAUTION = (
    "Rated lives are statistics (IEC 61810-2), not promises. Local codes and licensed practice "
    f"decide how supply, fuse and wiring are made. {SUPPLY_OFF}"
)


def forecast_lines(result: Forecast, advise: bool = True) -> Iterator[str]:
    """The lines of a forecast, one section a subject.

    `advise` adds which kinds had better change places.
    """
    sections = (_head, _wear, _heat, _energy, _stock, *([_advice] if advise else []), _sheets)
    for section in sections:
        lines = list(section(result))
        yield from [*lines, ""] if lines else []
    yield CAUTION


def _head(result: Forecast) -> Iterator[str]:
    tally = result.tally
    frames = "1 frame" if tally.frames == 1 else f"{tally.frames:,} frames"
    ends = ""
    if tally.running_us < result.asked_us:
        ends = f"; it ends after {spoken(tally.running_us)}, over which all is taken"
    yield (
        f"Forecast of {result.programme} on {result.machine.name} for {spoken(result.asked_us)}: "
        f"{frames}, one every {spoken(result.every_us)}{ends}"
    )


def _wear(result: Forecast) -> Iterator[str]:
    yield (
        f"Wear: {sum(result.tally.pulses):,} pulses, "
        f"{result.relay_operations:,} operations of relays"
    )
    fates = _fates(result)
    for rank, parts in enumerate(fates[:SHOWN_FATES]):
        yield f"  {'then' if rank else 'first to fail'}: {_fate(parts)}"
        yield from _with_switches(result.relief) if result.relief and not rank else ()
    if len(fates) > SHOWN_FATES:
        yield f"  and {sum(map(len, fates[SHOWN_FATES:]))} more parts later"
    yield from _statistics(result)


def _statistics(result: Forecast) -> Iterator[str]:
    """When the first of all parts fails, and what must be at hand for the time."""
    first = result.first_failure
    if first is None:
        return
    yield (
        f"  first of all parts: in one of ten machines within {lived(first.tenth_h)}, in one of two "
        f"within {lived(first.half_h)}; likeliest the {first.part}, {first.chance:.0%}"
    )
    yield f"Spares for {spoken(result.tally.running_us)}, enough with 90 %"
    for spare in result.spares:
        yield (
            f"  {spare.kind}: {spare.enough:,} for {spare.parts:,} in use; exchange them every "
            f"{lived(spare.interval_h)}, when a tenth of the most used has failed"
        )


def _fates(result: Forecast) -> list[list[PartWear]]:
    """The parts that are used, those together that are worn alike, the first to fail in front."""
    alike: dict[tuple[str, int, int], list[PartWear]] = {}
    for part in result.parts:
        if part.operations:
            alike.setdefault((part.limit, part.life, part.operations), []).append(part)
    return list(alike.values())


def _fate(parts: list[PartWear]) -> str:
    first = parts[0]
    others = f" and {len(parts) - 1} more alike" if len(parts) > 1 else ""
    return (
        f"{first.part}{others} after {lived(first.hours)} "
        f"({first.limit} {first.life:,}, a statistic; {first.operations:,} in the time)"
    )


def _with_switches(relief: Relief) -> Iterator[str]:
    """What pulse switches do for the part that fails first, and what they cost."""
    before, after = relief.before, relief.after
    yield (
        "  with a pulse switch the contacts switch no current: "
        f"{lived(before.switched_hours)} (mechanical life);"
    )
    times = f"{relief.times:.0f}" if relief.times >= 3 else f"{relief.times:.1f}"
    yield (
        f"    the first to fail is then the {after.part}, after {lived(after.hours)}, "
        f"{times} times as long;"
    )
    kept = "" if relief.kept else ", and the cadence is not kept"
    periods = f"{ms(relief.period_after_us)} for {ms(relief.period_before_us)}"
    if relief.period_after_us == relief.period_before_us:
        periods = f"{ms(relief.period_after_us)}, as now"
    yield f"    the period is {periods}{kept}"


def _heat(result: Forecast) -> Iterator[str]:
    hottest: dict[str, CoilState] = {}
    for state in result.coils:
        known = hottest.setdefault(state.actuator.coil.name, state)
        if state.duty > known.duty:
            hottest[state.actuator.coil.name] = state
    if hottest:
        yield f"Heat, in air of {result.conditions.ambient_c:g} C, the hardest used of each coil:"
    for name, state in hottest.items():
        settles = "" if state.steady_c is None else f", settles at {state.steady_c:.0f} C"
        limit = state.actuator.coil.winding.limit_c
        against = f", its class bears {limit} C" if limit is not None and settles else ""
        yield f"  {name} ({state.actuator.name}): on for {state.duty:.2%}{settles}{against}"


def _energy(result: Forecast) -> Iterator[str]:
    cost = "" if result.cost is None else f", costs {priced(result.cost)}"
    yield f"Energy of the coils: {energy(result.joules)}{cost}"
    small = all(supply.mean_a < SMALL_A for supply in result.supplies)
    for supply in result.supplies:
        fuse = f"; {supply.fuse}" if supply.fuse else ""
        yield (
            f"  {supply.supply.name}: {supply.peak_a:.3g} A at most, "
            f"{_mean(supply.mean_a, small)} in the mean{fuse}"
        )
        if supply.bursts > PULSES:
            yield f"    it sees {supply.bursts:,} bursts in the time: exchange it before {PULSES:,}"


def _mean(amperes: float, small: bool) -> str:
    """A mean current; those of one page have one unit."""
    return f"{1_000 * amperes:.2g} mA" if small else f"{amperes:.2g} A"


def _stock(result: Forecast) -> Iterator[str]:
    yield "Stock"
    for kind in result.stocks:
        yield f"  {kind.item.name}: {kind.drawn:,} used, {_stock_words(kind)}"


def _advice(result: Forecast) -> Iterator[str]:
    if result.ink and result.ink.helps:
        swaps = ", ".join(f"{new} for {old}" for old, new in result.ink.exchange if new != old)
        last = result.ink.frames_exchanged
        yield (
            f"Better draw with {swaps}: without return the stock then lasts "
            + ("without end" if last is None else spoken(last * result.every_us))
        )
    elif result.ink:
        yield "No exchange of kinds makes the stock last longer"


def _stock_words(kind: KindStock) -> str:
    back = "at once" if not kind.return_us else f"after {spoken(kind.return_us)}"
    endless = f"{kind.least_endless:,} are enough without end when used ones are back {back}"
    if kind.item.stock is None:
        return f"{endless}"
    alone = "without end" if kind.lasts_us is None else spoken(kind.lasts_us)
    returned = "without end" if kind.lasts_returned_us is None else spoken(kind.lasts_returned_us)
    return (
        f"stock {kind.item.stock:,} lasts {alone} without return, {returned} with return {back}; "
        f"{endless}"
    )


def _sheets(result: Forecast) -> Iterator[str]:
    for kind in result.stocks:
        returns = kind.item.return_us is not None
        load = kind.load_returned if returns else kind.load
        way = "with return" if returns else "without return"
        if any(load.values()):
            yield f"Load {sum(load.values()):,} {kind.item.name} ({way}):"
            yield from _sheet(result.machine, load)


def _sheet(machine: Machine, load: Load) -> Iterator[str]:
    """The counts of each grid where its cells are, a dash for an absent cell."""
    counts = {(magazine.grid, magazine.cell): count for magazine, count in load.items()}
    width = max(len(f"{count:,}") for count in load.values())
    for grid in machine.grids:
        places = {(cell.row, cell.column): cell for cell in grid.cells}
        if not any((grid.name, cell) in counts for cell in grid.cells):
            continue
        yield f"  {grid.name}"
        for row in range(1, grid.rows + 1):
            cells = (places.get((row, column)) for column in range(1, grid.columns + 1))
            words = ("-" if cell is None else f"{counts[grid.name, cell]:,}" for cell in cells)
            yield "    " + " ".join(word.rjust(width) for word in words)
