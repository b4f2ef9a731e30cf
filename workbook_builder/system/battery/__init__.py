"""The battery bank: its voltages, its size, and how it may be charged."""
