"""The pages of the review over a store of many boxes.

`indexing` makes what lists and searches are quick by; `reading` answers what the pages of `browse`
ask; `people` lets somebody in, and everything is then read with their own role of the engine;
`app` and `pages` are the addresses.
"""
