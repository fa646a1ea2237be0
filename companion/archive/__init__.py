"""All jobs of a record at once: the index beside it, lists and search."""
