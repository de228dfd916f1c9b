"""What the project promises about speed, measured: ``make bench``, or ``python -m benchmarks``."""

import os

# One thread for what runs beside us too: a linear-algebra library's idle threads keep a core busy for a while after
# each call, and whatever is timed next pays for it.
for _name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")
