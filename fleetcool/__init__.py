"""fleetcool: plans the upkeep of the cooling systems of a vehicle fleet."""

__version__ = "0.1.0"
