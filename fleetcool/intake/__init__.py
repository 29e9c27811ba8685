"""Tables and feeds in: checked, units settled, faults named."""
