"""The drawing area: exact contours on a canvas that zooms, pans and measures."""
