"""The guide: its pages, the viewer on the board, and the marks that lead to it."""
