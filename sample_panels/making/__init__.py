"""How the sample drawings are made: plain maths, then a writer per file format."""
