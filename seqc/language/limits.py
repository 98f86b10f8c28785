"""Bounds on what is read, so that a file from a stranger can't take all time or memory."""

MAX_FILE_BYTES = 1 << 20
MAX_FILES = 64
MAX_INCLUDE_DEPTH = 16
MAX_STATEMENTS = 2_000
MAX_BLOCK_ERRORS = 20
MAX_HINTS = 50

MAX_NAME = 40
MAX_WORD = 120
MAX_TEXT = 4_096

MAX_CELLS = 64 * 64
MAX_GATES = 64
MAX_FEED = 256
MAX_NESTING = 16
MAX_OUTPUTS = 1_024
