"""The invented farm, and the samples made from it."""
