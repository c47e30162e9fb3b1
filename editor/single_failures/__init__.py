"""Single failures: the table of what each costs, and the sheet as it would be with one.

The table is worked out by `analysis.failures`, in a process of its own; a failure that is
looked at is put into a copy of the circuit. The circuit on the sheet is never changed.
"""
