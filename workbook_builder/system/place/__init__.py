"""Where the equipment stands: heat, gas, water, and what a person confirms."""
