"""Teamroom: the plans of one grade level's teachers, kept together."""
