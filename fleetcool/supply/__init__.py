"""Demand by week, netting and ordering."""
