"""Geometry on exact contours and on the polygons derived from them."""
