"""Formulas as trees: read once, looked at and written from there."""
