"""The installed system: the printed sheet, the readings of the day and what they say."""
