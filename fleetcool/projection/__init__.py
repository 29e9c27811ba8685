"""Due days, part life, the price of waiting."""
