"""A call as a cell makes it: what was typed is read, and answered or refused."""
