"""Bay companion: a hands-free voice companion for the static calibration of a forward radar."""

__version__ = "0.1.0"
