"""How often something goes wrong, as it is written: `misfeed 1 in 20000`."""

from __future__ import annotations

from seqc.language.settings import Settings
from seqc.language.source import Word
from seqc.language.values import Amount
from seqc.machine.findings import Findings


def misfeed_of(settings: Settings, findings: Findings) -> float:
    """The chance of a misfeed, 0 where none is told; what can't be meant is reported."""
    setting = settings.get("misfeed")
    if setting is None or len(setting.values) != 3:
        return 0.0
    count, joint, among = setting.values
    assert isinstance(count, Amount)
    assert isinstance(joint, Word)
    assert isinstance(among, Amount)
    if joint.text == "in" and count.value < among.value:
        return count.value / among.value
    message = f"`misfeed {count.text} {joint.text} {among.text}` is no chance"
    hint = "write how many in how many more: `misfeed 1 in 20000`"
    findings.error("bad-chance", message, setting.place, hint)
    return 0.0
