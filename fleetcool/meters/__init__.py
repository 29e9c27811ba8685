"""Meter repair and usage."""
