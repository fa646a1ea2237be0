"""Many boxes, one store: PostgreSQL keeps what they send, and is the witness that a single box
cannot be to itself.

`migrations/` is the shape of the store and what it refuses, as SQL; `shipping` is the box's side,
`witness` and `verifying` hold record and store against each other, `keeping` is for its keeper.
"""
