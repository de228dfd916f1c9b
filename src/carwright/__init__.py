"""Carwright: the engineering bench of somebody who rebuilds second-hand scale-model freight cars."""

__all__ = ["__version__"]

__version__ = "0.1.0"
