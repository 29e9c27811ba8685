"""Schema changes, oldest first."""
