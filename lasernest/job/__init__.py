"""The job: the document with panels, quantities and choices, and its file."""
