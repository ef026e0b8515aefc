"""The search: overlaps are allowed, weighed and removed, then the room is made smaller."""
