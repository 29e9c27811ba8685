"""Records: the words of the trade as data."""
