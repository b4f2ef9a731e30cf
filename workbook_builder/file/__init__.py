"""From a plan to a file, and from a file back to what was typed."""
