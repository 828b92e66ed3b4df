"""What the functions are: their definitions, units, native formulas and reference."""
