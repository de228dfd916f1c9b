"""The commands: each parses, calls a room or the plan, and prints; no arithmetic."""
