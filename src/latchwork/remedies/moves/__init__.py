"""What can be done about findings: one module for each kind of thing that is changed."""
