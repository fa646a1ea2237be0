"""Quantities with their uncertainty: propagation, conformity, decisions. Pure."""
