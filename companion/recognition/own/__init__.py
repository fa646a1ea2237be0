"""Ears of our own: an open speech encoder with a small head that knows only the bay's words."""
