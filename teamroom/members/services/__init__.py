"""Writes of people and places: one deed, one transaction."""
