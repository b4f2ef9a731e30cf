"""Files that are meant to harm whoever opens them, made when a test asks for them; none of them is kept as a file."""
