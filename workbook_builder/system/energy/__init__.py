"""The loads and the year, month by month."""
