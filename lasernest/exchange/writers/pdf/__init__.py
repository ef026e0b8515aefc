"""PDF by hand, as the little that is needed is: lines, curves, hatches, text."""
