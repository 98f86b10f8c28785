"""The forecast as plain text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from seqc.forecast.relief import Relief
from seqc.forecast.result import Forecast
from seqc.forecast.span import digits, energy, lived, priced, spoken
from seqc.forecast.stock import KindStock, Load
from seqc.forecast.wear import PartWear
from seqc.machine.cautions import SUPPLY_OFF
from seqc.machine.duty import CoilState
from seqc.machine.findings import Finding, Severity
from seqc.machine.fuse import PULSES
from seqc.machine.model import Machine
from seqc.machine.wording import amount_of
from seqc.report.words import actuators_words, folded, ms, table

SHOWN_FATES = 6
SMALL_A = 0.1

CAUTION = (
    "Rated lives are statistics (IEC 61810-2), not promises. Local codes and licensed practice "
    f"decide how supply, fuse and wiring are made. {SUPPLY_OFF}"
)


def forecast_lines(
    result: Forecast, advise: bool = True, short: Sequence[Finding] = ()
) -> Iterator[str]:
    """The lines of a forecast: the verdict, then a group a subject.

    `advise` adds which kinds to exchange; `short` is what falls short besides what the forecast
    finds itself.
    """
    yield from folded(_verdict(result, [*short, *result.findings]))
    for section in (_frames, _stock, _misfeeds, _wear, _coils, _supplies):
        yield from section(result)
    yield from _advice(result) if advise else ()
    yield ""
    yield from _sheets(result)
    yield from folded(CAUTION, hang=0)


def _verdict(result: Forecast, found: Sequence[Finding]) -> str:
    head = f"{result.programme} on {result.machine.name} for {spoken(result.asked_us)}"
    errors = [finding for finding in found if finding.severity is Severity.ERROR]
    if not errors:
        return f"{head}: lasts"
    more = f", and {len(errors) - 1} more" if errors[1:] else ""
    return f"{head}: falls short, {errors[0].message}{more}"


def _frames(result: Forecast) -> Iterator[str]:
    tally = result.tally
    frames = "1 frame" if tally.frames == 1 else f"{tally.frames:,} frames"
    ends = ""
    if tally.running_us < result.asked_us:
        ends = f"; it ends after {spoken(tally.running_us)}, over which all is taken"
    yield from folded(
        f"  {frames}, cadence {spoken(result.every_us)}{ends}; {sum(tally.pulses):,} pulses, "
        f"{result.relay_operations:,} operations of relays"
    )


def _wear(result: Forecast) -> Iterator[str]:
    """Parts worn alike in one row, the first to fail in front, with what a switch would do."""
    fates = _fates(result)
    if not fates:
        return
    yield "Rated life (a statistic, not a promise)"
    yield from table([_fate(parts) for parts in fates[:SHOWN_FATES]])
    if len(fates) > SHOWN_FATES:
        yield f"  and {sum(map(len, fates[SHOWN_FATES:]))} more parts later"
    yield from _with_switches(result.relief) if result.relief else ()
    yield from _statistics(result)


def _statistics(result: Forecast) -> Iterator[str]:
    """When the first of all parts fails, and what must be at hand for the time."""
    first = result.first_failure
    if first is None:
        return
    yield from folded(
        f"  first of all parts: in a tenth of machines within {lived(first.tenth_h)}, in half "
        f"of them within {lived(first.half_h)}; likeliest the {first.part}, {first.chance:.0%}"
    )
    yield f"Spares for {spoken(result.tally.running_us)}, enough with 90 %"
    for spare in result.spares:
        yield from folded(
            f"  {spare.kind}: {spare.enough:,} for {spare.parts:,} in use; exchange them every "
            f"{lived(spare.interval_h)}, when a tenth of the most used has failed"
        )


def _fates(result: Forecast) -> list[list[PartWear]]:
    """The parts that are used, those together that are worn alike, the first to fail in front."""
    alike: dict[tuple[str, str, int, int, int], list[PartWear]] = {}
    for part in result.parts:
        if part.operations:
            key = (part.kind, part.limit, part.life, part.operations, part.used)
            alike.setdefault(key, []).append(part)
    return list(alike.values())


def _fate(parts: list[PartWear]) -> tuple[str, str, str, str]:
    first = parts[0]
    moves = ", ".join(dict.fromkeys(part.moves for part in parts))
    before = f", {first.used:,} before" if first.used else ""
    limit = f"{first.limit} {first.life:,}; {first.operations:,} in the time{before}"
    return moves, amount_of(len(parts), first.kind), lived(first.hours), limit


def _with_switches(relief: Relief) -> Iterator[str]:
    """What pulse switches do for the part that fails first, and what they cost."""
    before, after = relief.before, relief.after
    times = f"{relief.times:.0f}" if relief.times >= 3 else f"{relief.times:.1f}"
    kept = "" if relief.kept else ", but the cadence is not kept"
    period = f"{ms(relief.period_after_us)} instead of {ms(relief.period_before_us)}"
    if relief.period_after_us == relief.period_before_us:
        period = f"{ms(relief.period_after_us)}, as now"
    yield from folded(
        f"  With a pulse switch the contacts switch no current: {lived(before.switched_hours)}. "
        f"First is then the {after.part}, after {lived(after.hours)}, {times} times as long; "
        f"{period} a frame is then enough{kept}.",
        hang=0,
    )


def _coils(result: Forecast) -> Iterator[str]:
    busiest: dict[str, CoilState] = {}
    for state in result.coils:
        known = busiest.setdefault(state.actuator.coil.name, state)
        if state.duty > known.duty:
            busiest[state.actuator.coil.name] = state
    if busiest:
        yield f"Coils, the busiest of each type, ambient {result.conditions.ambient_c:g} C"
    yield from table([(name, _coil_words(state)) for name, state in busiest.items()])


def _coil_words(state: CoilState) -> str:
    words = f"{actuators_words([state.actuator])}, duty {digits(state.duty * 100)} %"
    limit = state.actuator.coil.winding.limit_c
    if state.steady_c is not None:
        words += f", settles at {state.steady_c:.0f} C"
        words += f"; its class bears {limit} C" if limit is not None else ""
    return words


def _supplies(result: Forecast) -> Iterator[str]:
    cost = "" if result.cost is None else f", cost {priced(result.cost)}"
    yield f"Supply, {energy(result.joules)} in the coils{cost}"
    small = all(supply.mean_a < SMALL_A for supply in result.supplies)
    rows = []
    for supply in result.supplies:
        fuse = f"; {supply.fuse}" if supply.fuse else ""
        if supply.bursts > PULSES:
            fuse += f"; it sees {supply.bursts:,} in the time: exchange it before {PULSES:,}"
        currents = f"peak {supply.peak_a:.3g} A, mean {_mean(supply.mean_a, small)}"
        rows.append((supply.supply.name, f"{currents}{fuse}"))
    yield from table(rows)


def _mean(amperes: float, small: bool) -> str:
    """A mean current; those of one page have one unit."""
    return f"{1_000 * amperes:.2g} mA" if small else f"{amperes:.2g} A"


def _stock(result: Forecast) -> Iterator[str]:
    back = {kind.recirculate_us for kind in result.stocks}
    one = f" after {spoken(back.pop())}" if len(back) == 1 and back != {0} else ""
    once = one or (" at once" if back == {0} else "")
    heads = ("", "used", "stock", "lasts", f"enough if recirculated{once}")
    rows = [_stock_row(kind, not once) for kind in result.stocks]
    widths = [max(len(row[at]) for row in (heads, *rows)) for at in range(len(heads) - 1)]
    for title, row in zip(("Stock", *[""] * len(rows)), (heads, *rows), strict=True):
        cells = [
            row[at].ljust(widths[at]) if at in (0, 3) else row[at].rjust(widths[at])
            for at in range(len(widths))
        ]
        yield f"{title or '  '}{'   '.join(cells)[len(title) - 2 if title else 0 :]}   {row[-1]}"


def _stock_row(kind: KindStock, tell_return: bool) -> tuple[str, str, str, str, str]:
    stock = "" if kind.item.stock is None else f"{kind.item.stock:,}"
    lasts = "" if kind.item.stock is None else "without end"
    if kind.item.stock is not None and kind.lasting_us is not None:
        lasts = spoken(kind.lasting_us)
    after = f" (after {spoken(kind.recirculate_us)})" if tell_return else ""
    return kind.item.name, f"{kind.drawn:,}", stock, lasts, f"{kind.least_endless:,}{after}"


def _advice(result: Forecast) -> Iterator[str]:
    if result.ink and result.ink.helps:
        swaps = ", ".join(f"{new} for {old}" for old, new in result.ink.exchange if new != old)
        last = result.ink.frames_exchanged
        lasts = "without end" if last is None else spoken(last * result.every_us)
        yield from folded(f"Exchange {swaps}: if none is recirculated the stock lasts {lasts}")
    elif result.ink:
        yield "No exchange of kinds makes the stock last longer"


def _misfeeds(result: Forecast) -> Iterator[str]:
    found = result.misfeeds
    if found is None:
        return
    yield f"Misfeeds of {digits(found.items_a_day)} items a day"
    yield f"  {digits(found.healing_a_day)} wrong cells a day, which the next frame heals"
    visit = "no lane jams" if found.visit_h is None else f"one visit every {lived(found.visit_h)}"
    yield f"  {digits(found.jams_a_day)} jams a day: {visit}"
    yield from folded(
        f"  a day without any: {found.clean_day:.2%}; 90 % at one misfeed in {found.needed:,} items"
    )


def _sheets(result: Forecast) -> Iterator[str]:
    for kind in result.stocks:
        returns = kind.item.recirculate_us is not None
        load = kind.fill_recirculated if returns else kind.fill
        way = "recirculated" if returns else "none recirculated"
        if any(load.values()):
            yield f"Fill in {sum(load.values()):,} {kind.item.name} ({way}):"
            yield from _sheet(result.machine, load)


def _sheet(machine: Machine, load: Load) -> Iterator[str]:
    """The counts of each grid where its magazines are, a dash where there is none."""
    counts = {(magazine.grid, magazine.cell): count for magazine, count in load.items()}
    width = max(len(f"{count:,}") for count in load.values())
    for grid in machine.grids:
        own = [cell for cell in grid.cells if (grid.name, cell) in counts]
        if not own:
            continue
        places = {(cell.row, cell.column): cell for cell in own}
        yield f"  {grid.name}"
        for row in range(1, grid.rows + 1):
            cells = (places.get((row, column)) for column in range(1, grid.columns + 1))
            words = ("-" if cell is None else f"{counts[grid.name, cell]:,}" for cell in cells)
            yield "    " + " ".join(word.rjust(width) for word in words)
