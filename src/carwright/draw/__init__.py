"""Drawings: the plan on paper. A drawing is made in millimetres (``model``) and then written as SVG, DXF or PDF."""
