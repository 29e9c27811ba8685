"""Placing visits on days: what a shop can bear, the choice of days, the order within a day."""
