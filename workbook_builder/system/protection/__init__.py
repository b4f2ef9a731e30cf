"""Fuses and circuit breakers, and what the code asks."""
