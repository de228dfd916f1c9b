"""Lengths, masses, angles and counts as people write them, and millimetres, grams and degrees: both ways.

Words used here:

- A *reading* is a text with a value, and with what is known of its doubt: the instrument's ±, the last place typed,
  or a ± that was typed behind it.
- *Nominal* is a size that nobody measured: a whole number without a point, a size by name, a length in scale feet.
- *Last place* is one unit of the last decimal typed; of a fraction it is 1/64, of which half counts.
- *Taken* is how the question asks for a reading: outside, inside, by depth rod, as height above the rail, with a rule.

The grammar is exact: numbers are whole-number fractions until the one conversion to ``float`` millimetres.
"""

from __future__ import annotations

from carwright.lengths._grammar import LENGTH_TOL_MM, LONGEST_MM
from carwright.lengths._quantities import Quantity, parse_angle, parse_count, parse_load, parse_mass, show_mass
from carwright.lengths._reading import Reading, Taken, ToleranceFrom, Units, as_written, parse_length
from carwright.lengths._show import (
    Nearest,
    Style,
    exact_in,
    nearest_fraction,
    nearest_of,
    number_in,
    scale_inches,
    show,
    show_in,
    thousandths,
)

__all__ = [
    "LENGTH_TOL_MM",
    "LONGEST_MM",
    "Nearest",
    "Quantity",
    "Reading",
    "Style",
    "Taken",
    "ToleranceFrom",
    "Units",
    "as_written",
    "exact_in",
    "nearest_fraction",
    "nearest_of",
    "number_in",
    "parse_angle",
    "parse_count",
    "parse_length",
    "parse_load",
    "parse_mass",
    "scale_inches",
    "show",
    "show_in",
    "show_mass",
    "thousandths",
]
