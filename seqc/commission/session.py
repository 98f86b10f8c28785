"""One commissioning: the line, the record, and what is known of the machine, kept together.

Everything that changes anything goes through here, from the terminal and from the page alike. A
stop waits for nothing else.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from functools import partial

from seqc.codegen.rendering import checksum
from seqc.commission.expected import Expected
from seqc.commission.link import MOVING, SILENCE_S, Heard, Link
from seqc.commission.operations import counts_of, operations, part_names, worn
from seqc.commission.ports import LostError, Port
from seqc.commission.protocol import Answer
from seqc.commission.record import Record
from seqc.commission.sights import Sights
from seqc.machine.model import Machine
from seqc.machine.steptable import TablesFor
from seqc.schedule.commissioning import Commissioning, Named, Step
from seqc.simulator.simulator import Picture

NEEDS_HOME = {"off", "stopped", "fault"}


class RefusedError(Exception):
    """What was asked for can't be done now; says why, and what to do."""


class Session:
    """A machine that is being brought up.

    `choices` are the ways in which its tables may be divided among builds: all in one, or in parts
    where a controller is too small. Which it is the controller's checksum tells. `tell` hears of
    everything that a person should read, as it happens.
    """

    def __init__(
        self,
        choices: Sequence[Sequence[Commissioning]],
        record: Record,
        open_port: Callable[[], Port],
        tell: Callable[[str], None],
    ) -> None:
        self.parts, self.record = tuple(choices[0]), record
        self.machine: Machine = self.parts[0].machine
        self.part: Commissioning | None = None
        self.playing: Named | None = None
        self.last: Named | None = None
        self.step = Step.ACTUATORS
        self.expected = Expected(self.machine, self.parts[0].frame)
        self.sights = Sights(self.machine, self.parts[0].frame)
        self._known = {
            checksum(one.machine, one.table_set): (one, tuple(parts))
            for parts in reversed(choices)
            for one in parts
        }
        self._tell = tell
        self._orders, self._lock = threading.Lock(), threading.RLock()
        self._asked: Callable[[], None] | None = None
        self._state = ""
        self._closing = False
        self.changed: Callable[[], None] = lambda: None
        self.link = Link(open_port, self._hear)

    @property
    def state(self) -> str:
        """What the controller is doing, or `lost`; `other tables` where it has none of these.

        Whoever reads it finds in the record whatever led there.
        """
        return self._state or "lost"

    @property
    def is_moving(self) -> bool:
        """Whether something moves, or the line isn't up yet."""
        return self.state in ("busy", "homing", "lost")

    @property
    def named(self) -> tuple[Named, ...]:
        """Every table, of all parts, each once."""
        return tuple({one.name: one for part in self.parts for one in part.named}.values())

    def start(self) -> None:
        """Connect."""
        self.link.start()

    def close(self) -> None:
        """Stop the machine, let go of the line and of the record."""
        self._closing = True
        self.link.close()
        self.record.close()

    def stop(self) -> None:
        """Make every output inactive, at once; raises RefusedError where the line is lost."""
        try:
            self.link.stop()
        except LostError as error:
            words = f"a controller whose line is silent stops by itself within {SILENCE_S} s"
            raise RefusedError(f"{error}; {words}. Cut the supply if it moves.") from error
        finally:
            self.record.note("stop")

    def home(self) -> None:
        """Drive every part to rest; raises RefusedError."""
        with self._orders:
            part = self._ready_part()
            if self.state in ("busy", "homing"):
                raise RefusedError("it is moving; stop it first, or wait")
            self._ask(f"timeout {SILENCE_S}")
            self._begin("home", partial(self._begun_home, part))

    def play(self, name: str) -> None:
        """Play a table by its name; raises RefusedError."""
        with self._orders:
            part = self._ready_part()
            number = part.number_of(name)
            if number is None:
                raise RefusedError(self._elsewhere(name))
            if self.state in NEEDS_HOME:
                raise RefusedError("no position is known; `home` comes first")
            if self.state != "ready":
                raise RefusedError("it is moving; stop it first, or wait")
            self._begin(f"show {number}", partial(self._begun, part.named[number], part))

    def see(self, grid: str, picture: Picture) -> None:
        """Take down what is seen of a grid now; '?' where nobody has looked."""
        with self._lock:
            table = self.last.name if self.last else ""
            self.record.note("seen", table=table, grid=grid, picture=list(picture))
            self.expected.see(grid, picture)
            self.sights.see(grid, picture)
        self.changed()

    def judge(self, right: bool) -> None:
        """Take down whether the last table did what it should; raises RefusedError."""
        with self._lock:
            if self.last is None:
                raise RefusedError("nothing has been played yet")
            self.record.note("judged", table=self.last.name, right=right)
            if right and self.last.machine is self.machine:
                for grid, picture in self.expected.pictures.items():
                    self.see(grid, picture)
        self.changed()

    def replace(self, part: str) -> None:
        """Take down that a part was replaced; raises RefusedError where there is no such part."""
        if part not in part_names(self.machine):
            raise RefusedError(f"there is no part {part!r}; `parts` lists them")
        with self._lock:
            self.record.note("replaced", part=part)
            self.sights.handle(part)
        self.changed()

    def note(self, text: str) -> None:
        """Take down a remark."""
        self.record.note("note", text=text)

    @property
    def operations(self) -> dict[str, int]:
        """How often each part has operated since it was built in."""
        return operations(self.machine, self.record.entries)

    @property
    def worn(self) -> dict[str, float]:
        """The share of its rated life that each actuator's coil or contacts have used, by name."""
        return worn(self.machine, self.operations)

    def _ready_part(self) -> Commissioning:
        if self.link.heard.lost:
            raise RefusedError(self.link.heard.lost)
        if self.part is None:
            raise RefusedError(self._other_tables())
        return self.part

    def _ask(self, text: str) -> Answer:
        try:
            return self.link.ask(text)
        except LostError as error:
            raise RefusedError(str(error)) from error

    def _begin(self, text: str, begun: Callable[[], None]) -> None:
        """Ask for a motion; `begun` is called as soon as it is heard, before it may have ended."""
        self._asked = begun
        try:
            said = self._ask(text)
        finally:
            self._asked = None
        # Where an answer was lost, the command sent again finds the motion under way.
        if said.word != text.split()[0] and said.state not in MOVING:
            raise RefusedError(f"the controller says {said.word}, {said.state}")

    def _elsewhere(self, name: str) -> str:
        for number, part in enumerate(self.parts, 1):
            if part.number_of(name) is not None:
                return f"table {name!r} is in part {number}: flash that one"
        return f"there is no table {name!r}; `list` lists them"

    def _other_tables(self) -> str:
        identity = self.link.identity
        has = f"tables for {identity.tables_for} of {identity.machine}" if identity else "others"
        return (
            f"the controller has {has}, and not those of this machine file; build them with "
            "`seqc build --tables-for commissioning` and flash them"
        )

    def _begun_home(self, part: Commissioning) -> None:
        self.record.note("home", **counts_of(self.machine, part.frame, None))
        self.playing = None
        self.expected.lose()
        self.expected.home()
        self.sights.home()

    def _begun(self, named: Named, part: Commissioning) -> None:
        self.record.note(
            "played", table=named.name, **counts_of(self.machine, part.frame, named.table)
        )
        self.expected.begin(named.table)
        self.sights.play(named)
        self.playing = self.last = named
        self.step = named.step

    def _hear(self, heard: Heard) -> None:
        """What the controller says, on the line's own thread."""
        if self._closing:
            return
        if heard.lost:
            self.part = None
        elif self.part is None or heard.answer is None:
            self._identify(heard)
        state = heard.state
        if state != "lost" and self.part is None:
            state = "other tables"
        with self._lock:
            if state in MOVING and self._asked:
                begun, self._asked = self._asked, None
                begun()
            if state != self._state:
                for words in self._changed_to(state, self._state, heard):
                    self._tell(words)
                self._state = state
        self.changed()

    def _identify(self, heard: Heard) -> None:
        if heard.answer is None or self.link.identity is None:
            return
        found = self._known.get(heard.answer.checksum)
        if found and self.link.identity.tables_for == TablesFor.COMMISSIONING.value:
            self.part, self.parts = found

    def _changed_to(self, state: str, before: str, heard: Heard) -> Iterator[str]:
        playing, self.playing = self.playing, self.playing if state in ("busy",) else None
        if state == "ready" and playing:
            self.record.note("ended", table=playing.name)
            yield f"{playing.name}: played"
        elif state == "ready" and before == "homing":
            self.record.note("ended", table="home")
            yield "home: every part is at rest, as far as the controller knows"
        elif state in ("stopped", "fault", "off", "lost"):
            cause = heard.answer.cause if heard.answer else heard.lost
            self.record.note(
                "halted", state=state, cause=cause, table=playing.name if playing else ""
            )
            self.expected.lose()
            self.sights.lose()
            yield self._halted(state, before, heard)
        elif state == "other tables":
            yield self._other_tables()

    def _halted(self, state: str, before: str, heard: Heard) -> str:
        match state:
            case "stopped":
                return "stopped: every output is inactive; `home` comes next"
            case "fault":
                return "the controller has found a fault, every output is inactive; see `status`"
            case "lost":
                return f"the line is lost: {heard.lost}. The controller stops by itself."
        started = "connected; nothing moves until `home`"
        return started if before in ("", "lost") else "the controller was reset; `home` comes next"
