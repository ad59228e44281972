"""Published fire equations as array functions: spread, shape, flame, breach, heat in the row."""
