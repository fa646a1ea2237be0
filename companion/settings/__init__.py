"""The box's settings: one file, checked, with defaults that work."""
