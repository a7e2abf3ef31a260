"""What stands on each sheet: answers in, plain texts for the templates out."""
