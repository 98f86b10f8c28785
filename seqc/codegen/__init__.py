"""Part 3: step tables to files, through the templates of a target."""

from seqc.codegen.readers import read_back
from seqc.codegen.rendering import render, sizes
from seqc.codegen.target import Target, targets
from seqc.codegen.writing import write_files

__all__ = ["Target", "read_back", "render", "sizes", "targets", "write_files"]
