"""The controls and answers of the pages; no physics and no numbers of its own."""
