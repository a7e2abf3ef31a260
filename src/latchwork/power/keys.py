"""Names that the figures of supplies go by."""

EVERYBODY = "every door granted at once"
"""A moment beside those of the situations."""
EACH_AT_MOST = "each door at its most"
"""The same with doors that take less once they are granted left at rest: what a supply may have to
give."""
