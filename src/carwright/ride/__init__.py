"""Heights from the rail up to the coupler, both ends at once: solve, doubt, and cures."""
