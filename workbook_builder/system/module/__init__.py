"""The PV module: its data sheet and its current-voltage curve."""
