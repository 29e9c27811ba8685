"""Freezing and boiling, mixing and draining, what is in there now."""
