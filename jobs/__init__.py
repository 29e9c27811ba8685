"""What runs: by the clock and by hand."""
