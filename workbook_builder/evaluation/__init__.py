"""Values out of inputs: the graph, how entries are read, what is judged, and the proof."""
