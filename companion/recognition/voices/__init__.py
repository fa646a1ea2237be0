"""Voices that are learned: what is kept of a person with this person's consent, and where."""
