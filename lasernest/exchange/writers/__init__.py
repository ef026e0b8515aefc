"""One module for each kind of file that can be written."""
