"""The functions, one stage of the work a module: plain Python on floats, in metric units."""
