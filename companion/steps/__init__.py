"""The kinds of step that a job may be made of, one folder each. Pure but for `registry.py`."""
