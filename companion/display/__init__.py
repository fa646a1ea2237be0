"""What the screen in the bay shows. It reads the record and nothing else, and changes nothing."""
