"""What each kind of drive adds to the schedule and to the output words, a module each.

A drive answers two questions. How do its pulses keep apart (`channel`, `mode`, `clear_us`,
`pause_us`)? And which outputs are active when, for one pulse (`spans`)? The questions stand in
`rules`, and `choice` finds who answers for a drive.
"""
