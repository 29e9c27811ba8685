"""What is kept: schema, engines, reading and writing; the only code that knows SQL."""
