"""Putting services together in visits: what each set of them costs, and the cheapest partition."""
