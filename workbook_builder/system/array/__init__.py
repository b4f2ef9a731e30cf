"""The array: its voltage, its current, and other arrangements of the same modules."""
