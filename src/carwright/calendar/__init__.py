"""When each step happens: a calendar for a whole batch, and the bare problem of jobs on facilities behind it."""
