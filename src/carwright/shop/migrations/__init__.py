"""How the tables came to be as they are: one script for each version, run in order, each whole or not at all."""
