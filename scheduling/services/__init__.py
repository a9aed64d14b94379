"""Writes of scheduling: each function one deed, one transaction."""
