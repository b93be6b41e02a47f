"""Trials kept in a spreadsheet: from the bytes of a CSV file to session events. Pure, like all of `core`."""
