"""The site: where the system stands."""
