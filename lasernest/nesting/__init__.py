"""Nesting: panels arranged on sheets."""
