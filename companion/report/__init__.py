"""Reading a session afterwards: the report and its pictures."""
