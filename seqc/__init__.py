"""The way from a machine file to checked firmware tables.

Each function is one stretch of the way and calls its stages in order: `read` a machine, choose what
it is to show with `asked`, `plan` it in passes and time, `foresee` what that does to the machine,
lay it out with `tables`, run those in the simulator with `replay`, and `build` the files of a
target from them. They stand in `seqc/face`, a module for each stretch.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from seqc.face.building import build as build
from seqc.face.building import known_targets as known_targets
from seqc.face.building import sizes as sizes
from seqc.face.building import targets_named as targets_named
from seqc.face.building import write_files as write_files
from seqc.face.commissioning import build_commissioning as build_commissioning
from seqc.face.commissioning import commissioning_choices as commissioning_choices
from seqc.face.commissioning import commissioning_document as commissioning_document
from seqc.face.commissioning import commissioning_faults as commissioning_faults
from seqc.face.commissioning import commissioning_sheet as commissioning_sheet
from seqc.face.commissioning import desk as desk
from seqc.face.commissioning import divided as divided
from seqc.face.commissioning import serial_ports as serial_ports
from seqc.face.designing import LINKAGE_SHAPES as LINKAGE_SHAPES
from seqc.face.designing import MOST_PASSES as MOST_PASSES
from seqc.face.designing import find_linkages as find_linkages
from seqc.face.diagnosing import MOST_GLYPHS as MOST_GLYPHS
from seqc.face.diagnosing import Diagnosed as Diagnosed
from seqc.face.diagnosing import diagnose as diagnose
from seqc.face.diagnosing import find_test_frames as find_test_frames
from seqc.face.foreseeing import foresee as foresee
from seqc.face.foreseeing import recorded as recorded
from seqc.face.planning import LOAD_TIME as LOAD_TIME
from seqc.face.planning import NORMAL as NORMAL
from seqc.face.planning import PULSES as PULSES
from seqc.face.planning import QUICK as QUICK
from seqc.face.planning import Planned as Planned
from seqc.face.planning import advise as advise
from seqc.face.planning import cadence_findings as cadence_findings
from seqc.face.planning import hot_coils as hot_coils
from seqc.face.planning import overloads as overloads
from seqc.face.planning import plan as plan
from seqc.face.planning import plan_all as plan_all
from seqc.face.planning import plan_whole_font as plan_whole_font
from seqc.face.reaching import Beyond as Beyond
from seqc.face.reaching import nearest as nearest
from seqc.face.reaching import out_of_reach as out_of_reach
from seqc.face.reading import Formatted as Formatted
from seqc.face.reading import Sketch as Sketch
from seqc.face.reading import asked as asked
from seqc.face.reading import formatted as formatted
from seqc.face.reading import read as read
from seqc.face.reading import sketch as sketch
from seqc.face.replaying import every_tick as every_tick
from seqc.face.replaying import replay as replay
from seqc.face.replaying import replay_bounds as replay_bounds
from seqc.face.replaying import sample as sample
from seqc.face.small_tables import commissioning as commissioning
from seqc.face.surveying import fonts_in_time as fonts_in_time
from seqc.face.surveying import survey as survey
from seqc.face.surveying import traced as traced
from seqc.face.tabling import built_tables as built_tables
from seqc.face.tabling import laid_out as laid_out
from seqc.face.tabling import read_tables as read_tables
from seqc.face.tabling import tables as tables
from seqc.machine.effort import EFFORTS as EFFORTS

if TYPE_CHECKING:
    from seqc.codegen import Target as Target
    from seqc.forecast.result import Forecast as Forecast
    from seqc.linkages.finding import Linkages as Linkages
    from seqc.report.survey import FontShown as FontShown
    from seqc.report.survey import Survey as Survey
    from seqc.schedule.commissioning import Commissioning as Commissioning
