"""A clock of four numerals with a colon that blinks beside them, as a maker would write it."""

TEXT = """
# Hours and minutes, and between them two dots that blink in step with the seconds.
machine quay_clock
tolerance 2 %
item slate { tone dark   stock 400 }
item chalk { tone light  stock 400 }
coil small { 12 V  15 ohm  9 mH  pulse 30 ms  travel 16 ms  minimum off 30 ms }
supply bench { 12 V  limit 12 A  margin 20 % }

grid numeral { columns 3  rows 5  copies 4 }
grid colon   { columns 1  rows 2 }
lane numeral = shown <- swap <- drop <- pick(slate, chalk)
lane colon   = shown <- blink <- feed <- choose(slate, chalk)
selector pick   { per row     coil small  settle 8 ms }
gate     drop   { per column  coil small  open 40 ms  refill 40 ms }
gate     swap   { whole grid  coil small  open 60 ms }
selector choose { whole grid  coil small  settle 8 ms }
gate     feed   { whole grid  coil small  open 40 ms  refill 40 ms }
gate     blink  { whole grid  coil small  open 60 ms }
path drop -> swap   { falls in 90 ms }
path swap -> shown  { falls in 60 ms }
path feed -> blink  { falls in 90 ms }
path blink -> shown { falls in 60 ms }

outputs bus { bits 80  shift register }
drive pick, drop, swap    { bridge  dead time 1 ms  from bus }
drive choose, feed, blink { bridge  dead time 1 ms  from bus }

font digits for numeral {
    mark "#" slate
    mark "." chalk
    glyph "0" { |###| |#.#| |#.#| |#.#| |###| }
    glyph "1" { |.#.| |.#.| |.#.| |.#.| |.#.| }
    glyph "2" { |###| |..#| |###| |#..| |###| }
    glyph "3" { |###| |..#| |###| |..#| |###| }
    glyph "4" { |#.#| |#.#| |###| |..#| |..#| }
    glyph "5" { |###| |#..| |###| |..#| |###| }
    glyph "6" { |###| |#..| |###| |#.#| |###| }
    glyph "7" { |###| |..#| |..#| |..#| |..#| }
    glyph "8" { |###| |#.#| |###| |#.#| |###| }
    glyph "9" { |###| |#.#| |###| |..#| |###| }
}
font dots for colon {
    mark "#" slate
    mark "." chalk
    glyph ":" { |#| |#| }
    glyph " " { |.| |.| }
}

clock day { hours minutes  on numeral }
programme seconds { show ": " on colon  every 500 ms  repeat }
together wall { plays day  plays seconds }
"""
