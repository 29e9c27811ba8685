"""Shipped defaults as data files, and their reader."""
