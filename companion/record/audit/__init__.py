"""What proves that a record is whole: seals, keys, people, verification."""
