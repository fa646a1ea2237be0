"""What each command of the command line does, by what it is about."""
