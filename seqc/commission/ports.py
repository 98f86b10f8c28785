"""What bytes go through: a serial port, or anything that behaves like one."""

from __future__ import annotations

from typing import NamedTuple, Protocol

from seqc.machine.findings import NOWHERE, Findings, InputError

BAUD_RATE = 38_400


class LostError(Exception):
    """The port is gone, or can't be opened; says why."""


class Port(Protocol):
    """Carries bytes both ways. `read` waits no longer than it is told; both raise LostError."""

    def read(self, most_s: float) -> bytes:
        """What has come meanwhile, perhaps nothing."""

    def write(self, data: bytes) -> None:
        """Send bytes at once."""

    def close(self) -> None:
        """Let go of it."""


class Listed(NamedTuple):
    """A serial port of this computer, and what hangs on it."""

    device: str
    words: str


def serial_ports() -> tuple[Listed, ...]:
    """The serial ports of this computer; raises InputError where pyserial isn't installed."""
    _need_pyserial()
    from serial.tools import list_ports

    return tuple(Listed(port.device, port.description) for port in sorted(list_ports.comports()))


def _need_pyserial() -> None:
    try:
        import serial  # noqa: F401
    except ImportError as error:
        findings = Findings()
        message = "a serial port needs pyserial, which isn't installed"
        hint = "`pip install 'seqc[serial]'`, or try `--emulated`, which needs nothing"
        findings.error("no-pyserial", message, NOWHERE, hint)
        raise InputError(findings) from error


class SerialPort:
    """A serial port by its device; raises LostError where it can't be opened."""

    def __init__(self, device: str) -> None:
        _need_pyserial()
        import serial

        self._lost = (serial.SerialException, OSError, TypeError, ValueError)
        try:
            self._serial = serial.Serial(device, BAUD_RATE, timeout=0, write_timeout=1)
        except self._lost as error:
            raise LostError(f"{device} can't be opened: {error}") from error

    def read(self, most_s: float) -> bytes:
        """What has come meanwhile."""
        try:
            self._serial.timeout = most_s
            first: bytes = self._serial.read(1)
            return first + bytes(self._serial.read(self._serial.in_waiting)) if first else b""
        except self._lost as error:
            raise LostError(f"the port is gone: {error}") from error

    def write(self, data: bytes) -> None:
        """Send bytes at once."""
        try:
            self._serial.write(data)
        except self._lost as error:
            raise LostError(f"the port is gone: {error}") from error

    def close(self) -> None:
        """Let go of it."""
        self._serial.close()
