"""Joints: edges of panels reshaped so that they press together."""
