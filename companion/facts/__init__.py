"""What the record knows of a job: one frozen model for each kind of event and fact.

The dialogue writes them, the record keeps them as JSON, and later readers read them
again. `codec` turns them into JSON and back, `kinds` is the list of them all.
"""
