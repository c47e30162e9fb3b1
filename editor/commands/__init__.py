"""The commands of the command line, one module each, with `add_parser` and `execute`.

What a command computes comes from `analysis`; here it is only asked for and written out.
Qt belongs in none of them but `open_editor` and `draw`, and there inside a function.
"""
