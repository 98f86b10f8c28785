"""A plan to pulses in time, and pulses to a step table."""
