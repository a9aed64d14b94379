"""Reads of scheduling: each function one question."""
