"""Pure functions of numbers; each cites its source. No database, no files."""
