"""Changes that remove a finding, tried before they are told.

`search` tries them, `sizing` looks for the smallest sizes, `guessing` for what hangs on doubts;
`table` tells which findings may be mended at all, for which nothing of that is read.
"""
