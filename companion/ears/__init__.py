"""Sound to heard words: sources, endpointing, recognisers."""
