"""Comparing stocks: the page, its plans, table and plot, and what runs behind it."""
