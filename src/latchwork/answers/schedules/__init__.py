"""Schedules of a site as data: doors, connections, cables, what to order, supplies, readings.

`answer` works them out from a site as run, `model` is what they are, and `lists` what parts and
wires alone tell, for which nothing that solves is read.
"""
