"""Part 3: step tables to files, through the templates of a target."""

from seqc.codegen.readers import proven, read_back
from seqc.codegen.rendering import render, render_all, sizes
from seqc.codegen.target import Target, targets
from seqc.codegen.writing import write_files

__all__ = [
    "Target",
    "proven",
    "read_back",
    "render",
    "render_all",
    "sizes",
    "targets",
    "write_files",
]
