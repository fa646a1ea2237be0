"""Files that a supervisor published to boxes: what is signed, and where a box keeps them."""
