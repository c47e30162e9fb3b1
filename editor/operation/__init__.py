"""Working the circuit: a clock, its controls, events and traces.

The motion itself is `analysis.motion`; here it is kept going at the pace of a clock and
shown. The circuit on the sheet is changed only through undoable commands.
"""
