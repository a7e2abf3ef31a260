"""Names that the figures of supplies go by."""

EVERYBODY = "every door granted at once"
"""A moment beside those of the situations."""
