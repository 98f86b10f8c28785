"""The frames of a programme planned jointly: where one frame ends is where the next one starts."""
