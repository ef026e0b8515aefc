"""One module for each kind of drawing that can be read."""
