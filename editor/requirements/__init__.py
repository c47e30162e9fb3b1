"""Requirements in the editor: listed with their verdicts, written by picking, shown on the sheet.

Nothing here judges: verdicts and ways are the analysis's own.
"""
