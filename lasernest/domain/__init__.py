"""Frozen values of the trade: contours, panels, stock, plans, cut paths. Standard library only."""
