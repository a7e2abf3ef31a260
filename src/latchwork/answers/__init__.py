"""One frozen answer for each verb. Each stands in a module of its own, from which it is taken: what
other verbs need is not read."""
