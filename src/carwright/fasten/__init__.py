"""Drills, taps, screws and edge distances."""
