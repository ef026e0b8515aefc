"""The parts of the Joints page: picking edges, the pair close by, the case folded up."""
