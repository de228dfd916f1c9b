"""What the project promises about speed, measured: ``make bench``, or ``python -m benchmarks``."""
