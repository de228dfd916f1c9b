"""The finish of a car: strip, prime, colour, mask, letter, seal; the steps, their waits and what they need."""
