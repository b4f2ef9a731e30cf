"""The charge controller: its limits, how it charges, and the power that reaches the battery."""
