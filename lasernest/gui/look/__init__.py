"""How the window looks: colours, type, sizes, style sheet."""
